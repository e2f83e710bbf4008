// The bay page: every press is painted, kept on the tablet, then sent. Nothing here waits for the network.

import { dropDraft, listenDrafts } from "./drafts.js"
import { all, keep, keepPhoto, newKey, onChange, unsent } from "./outbox.js"
import { focusNext, formsOf, nextField } from "./fields.js"
import { goOn, listenGoing } from "./going_on.js"
import { about, listenPhotos, paintPhotos, photoPlace, photosInHand } from "./proofs.js"
import { refresh } from "./refresh.js"
import * as lines from "./rows.js"
import { hurry, link, onDrained, onLink, start } from "./sender.js"
import { showLink, showLost, showPlainHttp, showTold } from "./told.js"
import { askWho, listenWho, who } from "./who.js"

const DOUBLE_TAP_MS = 700
const KIND = { done: "tick", wrong: "tick", na: "na", value: "reading", start: "timer" }
const job = Number(document.body.dataset.job) || 0
const same = () => document.querySelector("[data-same-for-all]")?.checked ?? false
const places = () => (document.body.dataset.places ?? "").split(" ").filter(Boolean)

// --- painting --------------------------------------------------------------------

let known = { entries: [], photos: [] }
let pressing = []

function paint() {
  const kept = new Set(known.entries.map((entry) => entry.key))
  pressing = pressing.filter((entry) => !kept.has(entry.key))
  const mine = known.entries.filter((entry) => entry.job === job)
  lines.paint([...mine, ...pressing])
  paintPhotos(known)
  showTold(known.entries, job, (entry) => photoPlace(entry) ?? lines.rows().find((row) => lines.isOn(row, entry)))
  paintCount()
}

function paintCount() {
  // What is just being written down is not sent either.
  const count = unsent(known) + pressing.length + photosInHand()
  for (const place of document.querySelectorAll("[data-waiting]")) {
    place.dataset.waiting = place.textContent = String(count)
    place.closest(".waiting")?.toggleAttribute("data-empty", !count)
  }
  for (const words of document.querySelectorAll("[data-waiting-words]")) {
    words.textContent = !count ? "all sent" : link.away ? "kept here, no connection" : "not sent yet"
  }
  for (const form of document.forms) if (form.elements.namedItem("pin")) tellUnsent(form)
  showLink(count)
}

// Signing is refused while this tablet still holds something of the car; only the tablet knows.
function tellUnsent(form) {
  const field = form.elements.namedItem("unsent") ?? document.createElement("input")
  const count = unsent(known, job) + pressing.length + photosInHand()
  Object.assign(field, { type: "hidden", name: "unsent", value: String(count) })
  if (!field.form) form.append(field)
}

async function look() {
  known = await all()
  paint()
}

// --- pressing ---------------------------------------------------------------------

const tapped = new WeakMap()

// A wet glove taps twice. The second tap is not an answer of its own.
function isSecondTap(row, event) {
  const before = tapped.get(row) ?? -Infinity
  tapped.set(row, event.timeStamp)
  return event.timeStamp - before < DOUBLE_TAP_MS
}

function bodyOf(rows, answer, more) {
  const [row] = rows
  const { line, panel, scope, after } = row.dataset
  const panels = scope === "car" ? [] : [panel]
  const body = { line, panels, edges: rows.map((each) => each.dataset.edge).filter(Boolean), answer, ...more }
  if (["panel", "piece"].includes(scope) && same()) {
    return { ...body, panels: [panel, ...places().filter((place) => place !== panel)], same: true }
  }
  const seen = new Set(rows.map((each) => each.dataset.seen ?? ""))
  if (seen.size === 1 && !seen.has("")) body.seen = Number(row.dataset.seen)
  if (rows.length === 1 && after) body.after = after
  return body
}

async function press(rows, answer, more = {}) {
  const person = await askWho()
  if (!person) return false
  const words = about(rows[0].querySelector(".row-text"))
  const body = bodyOf(rows, answer, more)
  const entry = { key: newKey(), at: Date.now(), kind: KIND[answer], job, who: person, body, about: words }
  // Shown as pressed at once, said to be kept only when it is on the disk.
  const shown = { ...entry, state: "writing" }
  pressing.push(shown)
  paint()
  try {
    await keep(entry)
  } catch (fault) {
    pressing = pressing.filter((each) => each !== shown)
    paint()
    showLost(fault)
    return false
  }
  await look()
  hurry()
  if (answer !== "wrong") focusNext(lines.rows(), rows.at(-1))
  return true
}

// --- not here -----------------------------------------------------------------------

let notHere = null

function askWhyNot(row) {
  const box = document.querySelector("dialog#why-not")
  if (!box) return
  notHere = row
  box.showModal()
}

function because(button) {
  const row = notHere
  notHere = null
  button.closest("dialog").close()
  if (row) press([row], "na", { reason: button.dataset.reasonText })
}

// --- readings, defects ------------------------------------------------------------------

async function keepReading(form) {
  const fields = [...form.elements].filter((field) => field.name)
  const value = Object.fromEntries(fields.map((field) => [field.name, field.value.trim()]).filter(([, text]) => text))
  if (!Object.keys(value).length) return fields[0]?.focus()
  const typed = Object.values(value).join(" ").slice(0, 200)
  if (!(await press([form], "value", { value, typed }))) return
  fields.forEach(lines.keepAsIs)
  await dropDraft(form)
}

async function keepDefect(form) {
  const person = await askWho()
  if (!person) return
  const text = (name) => form.elements.namedItem(name)?.value.trim() ?? ""
  const { panel, foundAt, back } = form.dataset
  const body = { panel, found_at: foundAt }
  for (const name of ["edge", "kind", "cause", "comes_from", "severity", "note"]) body[name] = text(name)
  for (const name of ["x_mil", "y_mil"]) if (text(name)) body[name] = Number(text(name))
  const entry = { kind: "defect", job, who: person, body, about: about(null) }
  const [file] = form.querySelector("input[type=file]")?.files ?? []
  try {
    await (file ? keepPhoto(entry, file) : keep(entry))
    await dropDraft(form)
  } catch (fault) {
    return showLost(fault)
  }
  hurry()
  if (back) location.assign(back)
}

// What was typed at each edge is kept as its own answer.
async function keepTogether(forms) {
  for (const form of forms) {
    const typed = [...form.elements].some((field) => field.name && lines.isTyped(field))
    if (typed) await keepReading(form)
  }
}

// --- touching -----------------------------------------------------------------------------

function touchEdge(edge) {
  const where = document.querySelector("form[data-defect] [name=edge]")
  if (where) {
    where.value = edge
    return where.dispatchEvent(new Event("input", { bubbles: true }))
  }
  const row = lines.rowAt(lines.currentGroup(), edge)
  if (!row) return undefined
  row.scrollIntoView({ block: "nearest" })
  if (row.hasAttribute("data-reading")) return row.querySelector("input, select")?.focus()
  return lines.isAnswered(row) ? row.querySelector("[data-answer]").focus() : press([row], "done")
}

function touched(event) {
  const { target } = event
  const lane = target.closest("svg [data-edge][data-panel]")
  if (lane) return isSecondTap(lane, event) ? undefined : touchEdge(lane.dataset.edge)
  const reason = target.closest("[data-reason-text]")
  if (reason) return because(reason)
  const every = target.closest("[data-all-edges]")
  if (every) return isSecondTap(every, event) ? undefined : answerAll(every)
  const together = target.closest("[data-keep-all]")
  if (together) return keepTogether(formsOf(together.closest("[data-edge-line]").querySelector("form[data-reading]")))
  const side = target.closest("[data-side]")
  if (side) return chooseSide(side)
  const head = target.closest(".edge-group-head")
  if (head) return lines.makeCurrent(head.closest("[data-edge-line]"))
  const button = target.closest("[data-answer]")
  const row = button?.closest("[data-line][data-panel]")
  return row && !button.disabled && button.type !== "submit" ? answerRow(row, button.dataset.answer, event) : undefined
}

function answerRow(row, answer, event) {
  const group = row.closest("[data-edge-line]")
  if (group) lines.makeCurrent(group)
  const standing = row.querySelector('[data-answer][aria-pressed="true"]')?.dataset.answer
  if (isSecondTap(row, event) || (standing === answer && answer !== "start")) return undefined
  if (standing === "start" && answer === "start") return undefined
  return answer === "na" ? askWhyNot(row) : press([row], answer)
}

function answerAll(button) {
  const { allEdges, allLine, allPanel } = button.dataset
  const edges = allEdges.split(" ")
  const isAsked = ({ dataset }) =>
    dataset.line === allLine && dataset.panel === allPanel && edges.includes(dataset.edge)
  const open = lines.rows().filter((row) => isAsked(row) && !lines.isAnswered(row))
  return open.length ? press(open, "done") : undefined
}

// Said by the button, and the camera opens on the same touch.
function chooseSide(side) {
  const edges = side.dataset.side.split(" ")
  for (const box of side.closest("[data-photo-many]").querySelectorAll("input[name=edge]")) {
    box.checked = edges.includes(box.value)
  }
}

function entered(event) {
  const field = event.target
  if (!field.matches?.("form[data-reading] input, form[data-reading] select")) return
  const next = nextField(field)
  if (!next && formsOf(field.form).length === 1) return
  event.preventDefault()
  if (next) next.focus()
  else keepTogether(formsOf(field.form))
}

function keyed(event) {
  if (event.key === "Enter") entered(event)
  if (event.key !== "Enter" && event.key !== " ") return
  const lane = event.target.closest?.("svg [data-edge][data-panel]")
  if (!lane) return
  event.preventDefault()
  touchEdge(lane.dataset.edge)
}

function submitted(event) {
  const form = event.target
  if (form.matches("[data-reading]")) {
    event.preventDefault()
    if (!isSecondTap(form, event)) keepReading(form)
  } else if (form.matches("form[data-defect]")) {
    event.preventDefault()
    if (!isSecondTap(form, event)) keepDefect(form)
  } else if (form.matches("[data-photo-many]")) {
    event.preventDefault()
  }
}

function photoChosen(event) {
  const said = event.target.closest("form[data-defect]")?.querySelector("[data-defect-photo]")
  if (said && event.target.type === "file") said.textContent = event.target.files.length ? "Photo chosen" : "No photo yet"
}

// --- after sending ----------------------------------------------------------------------------

let stale = false
let freshening = null

// One at a time and in order: an older page must not come in over a newer one.
function freshen() {
  freshening = (freshening ?? Promise.resolve()).then(freshenOnce)
  return freshening
}

async function freshenOnce() {
  stale = true
  const keys = known.entries.filter((entry) => entry.state === "answered").map((entry) => entry.key)
  try {
    stale = !(await refresh(keys, paint))
    goOn(unsent(known, job) + pressing.length + photosInHand())
  } catch {
    // The page stands as it is, with what was entered here over it; the next answer tries again.
  }
}

document.addEventListener("click", touched)
document.addEventListener("keydown", keyed)
document.addEventListener("submit", submitted)
document.addEventListener("change", photoChosen)
document.addEventListener("focusout", () => setTimeout(() => stale && freshen(), 300))
addEventListener("pageshow", (event) => event.persisted && freshen())
onChange(look)
onLink(paintCount)
onDrained(async () => {
  known = await all()
  paint()
  if (document.querySelector("[data-refresh]")) await freshen()
})

lines.readPageTime()
listenWho()
listenGoing()
listenPhotos(paintCount)
showPlainHttp()
look().then(listenDrafts).then(() => focusNext(lines.rows(), document.querySelector("main") ?? document.body))
start()
