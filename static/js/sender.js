// Empties the outbox: entries in order of their numbers, then photos piece by piece, oldest first. Between two
// pieces the entries are looked at again, so that a tick never waits behind a photo.

import { asked, read } from "./db.js"
import { all, countWaiting, isSteady, onChange, unsent, waiting } from "./outbox.js"
import { agree, answered, forgetOld, photoEnded, photoSent, photoTried, tabletKnown } from "./settled.js"

const TIMEOUT_MS = 8_000
const PIECE_TIMEOUT_MS = 20_000
const LONGEST_WAIT_S = 30
const LOOK_EVERY_MS = 60_000
const MOST_ENTRIES = 50
const SMALLEST_PIECE = 32 * 1024
const WIRE = ["v", "key", "seq", "kind", "job", "who", "at", "body"]
const NO_LINK = "No connection. Everything is kept on this tablet and sent later."

/** How things stand with the shop: `said` is a sentence for the person, empty when all is well. */
export const link = { said: "", away: false }
const heard = new EventTarget()
export const onLink = (hear) => heard.addEventListener("link", hear)
export const onDrained = (hear) => heard.addEventListener("drained", hear)

/** The shop answered, and said no to the whole message, or not now. Nothing on the tablet is touched. */
class NotNow extends Error {}

// --- talking -------------------------------------------------------------------

// A sign-in page of a foreign network answers 200 as well: only JSON that carries our mark is the shop.
async function talk(address, options = {}, ms = TIMEOUT_MS) {
  const stop = new AbortController()
  const timer = setTimeout(() => stop.abort(), ms)
  const always = { redirect: "error", credentials: "same-origin", cache: "no-store", signal: stop.signal }
  try {
    const answer = await fetch(address, { ...always, ...options })
    const type = answer.headers.get("Content-Type") ?? ""
    if (!type.startsWith("application/json")) throw new TypeError("not the shop")
    const told = await answer.json()
    if (told.bay !== 1) throw new TypeError("not the shop")
    return { status: answer.status, told }
  } finally {
    clearTimeout(timer)
  }
}

const sentence = (told) => told.reasons?.map((reason) => reason.text).join(" ") || "The shop did not take this."

// --- entries -------------------------------------------------------------------

let most = MOST_ENTRIES

const onTheWire = (row) => ({
  ...Object.fromEntries(WIRE.map((name) => [name, row[name]])),
  steady: isSteady(row),
})

async function sendEntries() {
  let agreements = 0
  for (;;) {
    const batch = await waiting(most)
    if (!batch.length) return
    const entries = batch.map(onTheWire)
    const body = JSON.stringify({ now: Date.now(), unsent: await countWaiting(), entries })
    const headers = { "Content-Type": "application/json" }
    const { status, told } = await talk("/sync/entries", { method: "POST", headers, body })
    if (status === 413 && most > 1) {
      most = Math.ceil(most / 2)
      continue
    }
    if (status !== 200) throw new NotNow(sentence(told))
    if (told.results.length) await note(told.results)
    if (told.expect) {
      if (++agreements > 3) throw new NotNow("This tablet and the shop count differently. Tell the owner.")
      await agree(told.expect, told.tablet)
    } else if (!told.results.length) {
      throw new NotNow("The shop gave no answer to what was sent.")
    }
  }
}

async function note(results) {
  await answered(results)
  moved = gained = true
}

// A tablet whose storage was wiped counts from one again; it asks before it sends anything.
async function greet() {
  if ((await tabletKnown()) !== undefined || !(await countWaiting())) return
  const { status, told } = await talk("/sync/entries")
  if (status !== 200) throw new NotNow(sentence(told))
  await agree(told.expect, told.tablet)
}

// --- photos --------------------------------------------------------------------

const offsets = new Map()
let stride = Infinity

async function nextPhoto() {
  const { entries, photos } = await all()
  const promised = new Set(entries.filter((e) => e.state === "answered").map((e) => e.key))
  const open = photos.filter((photo) => photo.state === "waiting" && promised.has(photo.entry))
  return open.sort((a, b) => a.at - b.at)[0]
}

async function sendPiece(photo) {
  const address = `/sync/upload/${photo.upload}`
  if (!offsets.has(photo.upload)) return heed(photo, await talk(address))
  const offset = offsets.get(photo.upload)
  const body = await bytesFrom(photo, offset)
  const headers = { "Content-Type": "application/offset+octet-stream", "Upload-Offset": String(offset) }
  try {
    await heed(photo, await talk(address, { method: "PATCH", headers, body }, PIECE_TIMEOUT_MS))
    stride *= 2
  } catch (fault) {
    // A slow network gets smaller pieces, so that one of them fits into a good moment.
    if (fault.name === "AbortError") stride = Math.max(SMALLEST_PIECE, Math.min(stride, photo.piece) / 2)
    throw fault
  }
}

async function bytesFrom(photo, offset) {
  const n = Math.floor(offset / photo.piece)
  const row = await read(["pieces"], (stores) => asked(stores.pieces.get([photo.upload, n])))
  if (!row) return new ArrayBuffer(0)
  const from = offset % photo.piece
  return row.bytes.slice(from, from + Math.min(stride, photo.piece))
}

async function heed(photo, { status, told }) {
  if (status === 422) return heedRefusal(photo, told.reasons)
  if (status === 404) return announceAgain(photo)
  if (status !== 200 && status !== 409) throw new NotNow(sentence(told))
  gained = gained || told.offset > photo.sent
  offsets.set(photo.upload, told.offset)
  if (!told.done) return photoSent(photo.upload, told.offset)
  moved = gained = true
  return photoEnded(photo.upload)
}

async function heedRefusal(photo, reasons) {
  const damaged = reasons.some((reason) => reason.code === "photo_digest")
  if (!damaged) return photoEnded(photo.upload, reasons)
  offsets.set(photo.upload, 0)
  if ((await photoTried(photo.upload)) < 3) return undefined
  const text = "This photo was damaged on the tablet and cannot be sent. Take it again."
  return photoEnded(photo.upload, [{ code: "photo_unreadable", text }])
}

// The shop knows nothing of a photo it was promised: it was put back from a backup, and says from where to go on.
async function announceAgain(photo) {
  offsets.delete(photo.upload)
  const { status, told } = await talk("/sync/entries")
  if (status !== 200) throw new NotNow(sentence(told))
  await agree(told.expect, told.tablet)
  if (await countWaiting()) return sendEntries()
  const text = "The shop does not know of this photo any more. Take it again."
  return photoEnded(photo.upload, [{ code: "photo_missing", text }])
}

// --- when ----------------------------------------------------------------------

async function sendAll() {
  await greet()
  for (;;) {
    await sendEntries()
    const photo = await nextPhoto()
    if (!photo) return
    await sendPiece(photo)
  }
}

// One sender a tablet where the browser can see to it; where it cannot, the shop's keys do.
async function alone(work) {
  if (!navigator.locks) return work()
  return navigator.locks.request("bay-outbox", { ifAvailable: true }, (lock) => (lock ? work() : null))
}

let running = false
let wanted = false
let moved = false // something was answered for good: the page may be fetched afresh
let gained = false // something got through at all
let wait_s = 0
let timer = 0

/** Send now, whatever the waiting time was. */
export function hurry() {
  wait_s = 0
  return drain()
}

async function drain() {
  clearTimeout(timer)
  timer = 0
  wanted = true
  if (running) return
  running = true
  while (wanted) {
    wanted = false
    await attempt()
  }
  running = false
}

async function attempt() {
  moved = gained = false
  try {
    await alone(sendAll)
    tell("", false)
    wait_s = 0
  } catch (fault) {
    const refused = fault instanceof NotNow
    tell(refused ? fault.message : NO_LINK, !refused)
    // As long as something gets through, waiting longer and longer would only waste the good moments.
    wait_s = gained || !wait_s ? 1 : Math.min(LONGEST_WAIT_S, wait_s * 2)
  }
  const left = unsent(await all())
  if (moved) heard.dispatchEvent(new Event("drained"))
  if (left) timer = setTimeout(drain, 1000 * (wait_s || 5) * (0.8 + 0.4 * Math.random()))
}

function tell(said, away) {
  if (link.said === said && link.away === away) return
  Object.assign(link, { said, away })
  heard.dispatchEvent(new Event("link"))
}

/** Begin sending: now, when the network or the page comes back, and every minute in case nobody said so. */
export function start() {
  addEventListener("online", hurry)
  addEventListener("pageshow", hurry)
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && hurry())
  setInterval(async () => unsent(await all()) && drain(), LOOK_EVERY_MS)
  forgetOld()
  hurry()
}

// Another page of this tablet may have kept something and been closed before it could send it.
onChange(async () => !running && !timer && unsent(await all()) && drain())
