// What the shop answered, written down on the tablet, and the numbers both count by.

import { asked, read, remembered, write } from "./db.js"
import { fresh, tellChange } from "./outbox.js"

const KEEP_ANSWERED_MS = 7 * 24 * 3600 * 1000
const TAKEN = ["applied", "same"]

/** Write down answers. One that says a number was used before leaves its entry waiting for a new number. */
export async function answered(results) {
  await write(["entries", "photos", "pieces"], async (stores) => {
    for (const result of results) {
      if (result.reasons.some((reason) => reason.code === "seq_reused")) continue
      const row = await asked(stores.entries.get(result.key))
      if (!row) continue
      stores.entries.put({ ...row, state: "answered", answer: result, answeredAt: Date.now() })
      if (result.outcome === "refused") await dropPhotoOf(stores, row)
      if (TAKEN.includes(result.outcome)) await settleEarlier(stores, row)
    }
  })
  tellChange()
}

async function dropPhotoOf(stores, row) {
  const upload = row.body.upload ?? row.body.photo?.upload
  const photo = upload && (await asked(stores.photos.get(upload)))
  if (!photo) return
  stores.photos.put({ ...photo, state: "refused", endedAt: Date.now() })
  dropPieces(stores, upload)
}

// A later accepted entry on the same place settles what was said about an earlier one.
async function settleEarlier(stores, row) {
  const place = placeOf(row)
  if (!place) return
  for (const other of await asked(stores.entries.getAll())) {
    if (other.seq < row.seq && other.state === "answered" && !other.read && placeOf(other) === place) {
      stores.entries.put({ ...other, read: true })
    }
  }
}

function placeOf({ job, kind, body }) {
  if (kind === "photo" || !body.line) return ""
  return JSON.stringify([job, body.line, body.panels ?? [], body.edges ?? []])
}

function dropPieces(stores, upload) {
  stores.pieces.delete(IDBKeyRange.bound([upload, 0], [upload, Infinity]))
}

export async function photoSent(upload, sent) {
  await write(["photos"], async (stores) => {
    const photo = await asked(stores.photos.get(upload))
    if (photo) stores.photos.put({ ...photo, sent })
  })
  tellChange()
}

/** The bytes are in and right, or will never be taken. Only now does the tablet let go of them. */
export async function photoEnded(upload, reasons = null) {
  await write(["entries", "photos", "pieces"], async (stores) => {
    const photo = await asked(stores.photos.get(upload))
    if (!photo) return
    const state = reasons ? "refused" : "done"
    stores.photos.put({ ...photo, state, sent: photo.size, endedAt: Date.now() })
    dropPieces(stores, upload)
    const row = reasons && (await asked(stores.entries.get(photo.entry)))
    if (!row) return
    const detail = reasons.map((reason) => reason.text).join(" ")
    stores.entries.put({ ...row, read: false, answer: { ...row.answer, outcome: "refused", reasons, detail } })
  })
  tellChange()
}

/** The bytes did not arrive as they are: begin again, and count how often that was. */
export const photoTried = (upload) =>
  write(["photos"], async (stores) => {
    const photo = await asked(stores.photos.get(upload))
    stores.photos.put({ ...photo, sent: 0, tries: photo.tries + 1 })
    return photo.tries + 1
  })

export async function markRead(key) {
  await write(["entries"], async (stores) => {
    const row = await asked(stores.entries.get(key))
    if (row) stores.entries.put({ ...row, read: true })
  })
  tellChange()
}

/** Let go of what was answered a week ago. Until then a shop put back from a backup may ask for it again. */
export const forgetOld = () =>
  write(["entries", "photos"], async (stores) => {
    const before = Date.now() - KEEP_ANSWERED_MS
    for (const row of await asked(stores.entries.getAll())) {
      const known = row.read || TAKEN.includes(row.answer?.outcome)
      if (row.state === "answered" && row.answeredAt < before && known) stores.entries.delete(row.key)
    }
    for (const photo of await asked(stores.photos.getAll())) {
      if (photo.state !== "waiting" && photo.endedAt < before) stores.photos.delete(photo.upload)
    }
  })

// --- numbers -----------------------------------------------------------------------

/**
 * Go on at the number the shop expects. Known to each other, and the shop is older (put back from a backup): what
 * it had answered is sent again as it is. A fresh start on one side: what waits is numbered anew. The key stays
 * through all of it, and it is the key by which an entry happens once.
 */
export async function agree(expect, tablet) {
  await write(["meta", "entries"], async (stores) => {
    const rows = (await asked(stores.entries.getAll())).sort((a, b) => a.seq - b.seq)
    const known = (await remembered(stores, "tablet")) === tablet
    for (const row of known ? rows.filter((r) => r.state === "answered" && r.seq >= expect) : []) {
      stores.entries.put(Object.assign(row, { state: "waiting", answer: null }))
    }
    const open = rows.filter((row) => row.state === "waiting")
    const first = open[0]?.seq ?? expect
    if (!known || first < expect) renumber(stores, open, expect)
    else fillHoles(stores, open[0], expect, first)
    const last = Math.max(expect - 1, ...open.map((row) => row.seq))
    stores.meta.put({ name: "seq", value: last })
    stores.meta.put({ name: "tablet", value: tablet })
  })
  tellChange()
}

function renumber(stores, rows, from) {
  rows.forEach((row, n) => stores.entries.put(Object.assign(row, { seq: from + n })))
}

// An entry was numbered and is gone from this tablet. Work goes on, and the shop is told that something is missing.
function fillHoles(stores, like, from, to) {
  for (let seq = from; seq < to; seq++) {
    stores.entries.add(fresh({ kind: "hole", job: 0, who: like.who, body: {}, seq }))
  }
}

export const tabletKnown = () => read(["meta"], (stores) => remembered(stores, "tablet"))
