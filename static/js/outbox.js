// Everything a person enters goes here first, and to the shop from here: kept before it counts, sent in order,
// done once. There is no second way for when the network is good.

import { asked, read, remembered, write } from "./db.js"
import { sha256 } from "./sha256.js"

export const PIECE = 512 * 1024
const changed = new EventTarget()
const others = globalThis.BroadcastChannel ? new BroadcastChannel("bay") : null

export const onChange = (hear) => changed.addEventListener("change", hear)

/** Tell every page of this tablet that something was kept or answered. */
export function tellChange() {
  changed.dispatchEvent(new Event("change"))
  others?.postMessage("change")
}
others?.addEventListener("message", () => changed.dispatchEvent(new Event("change")))

// crypto.randomUUID is kept from pages without encryption; random numbers are not.
export function newKey() {
  if (crypto.randomUUID) return crypto.randomUUID()
  const bytes = crypto.getRandomValues(new Uint8Array(16))
  bytes[6] = (bytes[6] & 0x0f) | 0x40
  bytes[8] = (bytes[8] & 0x3f) | 0x80
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("")
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5")
}

// --- keeping -------------------------------------------------------------------

async function number(stores) {
  const seq = ((await remembered(stores, "seq")) ?? 0) + 1
  stores.meta.put({ name: "seq", value: seq })
  return seq
}

// The stopwatch of this page runs on whatever is done to the clock, so the two together show if it was set.
const LIFE = newKey()
const STEADY_MS = 2000

/** Whether the clock ran on undisturbed since this entry was pressed, as far as this page can tell. */
export const isSteady = ({ at, life, watch }) =>
  life === LIFE && Math.abs(Date.now() - at - (performance.now() - watch)) < STEADY_MS

export const fresh = (entry) => ({
  v: 1,
  key: newKey(),
  at: Date.now(),
  life: LIFE,
  watch: performance.now(),
  state: "waiting",
  answer: null,
  read: false,
  ...entry,
})

// Again under the same key after an unclear commit does no harm: it is there, or it is put there now.
async function add(stores, entry) {
  const there = await asked(stores.entries.get(entry.key))
  if (there) return there
  const row = { ...entry, seq: await number(stores) }
  stores.entries.add(row)
  return row
}

/** Keep an entry {kind, job, who, body}; resolves when it is on the disk of the tablet. */
export async function keep(entry) {
  const row = fresh(entry)
  const kept = await write(["meta", "entries"], (stores) => add(stores, row))
  stayKept()
  tellChange()
  return kept
}

/** Keep a photo with the entry that promises it: both or neither, so that half a photo cannot be. */
export async function keepPhoto(entry, file) {
  // Read whole before anything else: on some tablets a chosen file is gone after the next pause.
  const bytes = await file.arrayBuffer()
  const name = (file.name ?? "").slice(-100)
  const told = { upload: newKey(), sha256: await sha256(bytes), size: bytes.byteLength, name }
  const body = entry.kind === "photo" ? { ...entry.body, ...told } : { ...entry.body, photo: told }
  const row = fresh({ ...entry, body })
  // The size of a piece is part of the photo: a later page may cut others differently.
  const mine = { entry: row.key, job: entry.job, piece: PIECE, sent: 0, state: "waiting", tries: 0, at: row.at }
  const photo = { ...told, ...mine }
  await write(["meta", "entries", "photos", "pieces"], async (stores) => {
    await add(stores, row)
    stores.photos.put(photo)
    for (let n = 0; n * PIECE < bytes.byteLength; n++) {
      stores.pieces.put({ upload: told.upload, n, bytes: bytes.slice(n * PIECE, (n + 1) * PIECE) })
    }
  })
  stayKept()
  tellChange()
  return row
}

let asking = null

// Ask once to be spared when the tablet runs short of room. Some browsers have no such word.
function stayKept() {
  asking ??= navigator.storage?.persist?.().catch(() => false) ?? true
}

// --- looking -------------------------------------------------------------------

export const all = () =>
  read(["entries", "photos"], async (stores) => ({
    entries: (await asked(stores.entries.getAll())).sort((a, b) => a.seq - b.seq),
    photos: await asked(stores.photos.getAll()),
  }))

const still = () => IDBKeyRange.bound(["waiting", 0], ["waiting", Infinity])

/** The next entries to be sent, in order of their numbers. */
export const waiting = (limit) =>
  read(["entries"], (stores) => asked(stores.entries.index("state").getAll(still(), limit)))

export const countWaiting = () =>
  read(["entries"], (stores) => asked(stores.entries.index("state").count(still())))

/** What counts as unsent: entries without their answer, and photos whose bytes are not in. One photo is one. */
export function unsent({ entries, photos }, job) {
  const ours = (row) => job === undefined || row.job === job
  const open = photos.filter((photo) => photo.state === "waiting" && ours(photo))
  const carrying = new Set(open.map((photo) => photo.entry))
  return open.length + entries.filter((e) => e.state === "waiting" && ours(e) && !carrying.has(e.key)).length
}

/** Entries whose answer a person has to know of and has not read yet. */
export const unread = (entries) =>
  entries.filter((e) => !e.read && ["refused", "conflict"].includes(e.answer?.outcome))
