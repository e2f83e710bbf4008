// The rows of a page as this tablet knows them: what the shop's page says, and over it what was entered here since.

import { nameOf } from "./who.js"

const ANSWER_OF = { tick: "done", na: "na", reading: "value", timer: "start" }
const asServed = new WeakMap()
let pageAt = 0
let included = new Set()

export const answerOf = (entry) => entry.body.answer || ANSWER_OF[entry.kind]
const isAnswer = (entry) => entry.kind in ANSWER_OF

/** From when the page is, by the shop's clock. */
export function readPageTime() {
  pageAt = Date.parse(document.body.dataset.at) || Number(document.body.dataset.at) || 0
}

/** These answers are in the page now: it was made after they were. */
export function includes(keys) {
  included = new Set([...included, ...keys])
}

/** Every row that takes answers. */
export const rows = () =>
  [...document.querySelectorAll("[data-line][data-panel]")].filter((row) => row.querySelector("[data-answer]"))

const pressed = (row) => row.querySelector('[data-answer][aria-pressed="true"]')?.dataset.answer ?? ""
export const isAnswered = (row) => pressed(row) !== ""

function served(row) {
  if (!asServed.has(row)) {
    const said = row.querySelector("[data-said]")
    asServed.set(row, { answer: pressed(row), said: said?.textContent ?? "", seen: row.dataset.seen })
  }
  return asServed.get(row)
}

const onPanel = (element, panels) => !panels?.length || panels.includes(element.dataset.panel)

export function isOn(row, { body }) {
  if (row.dataset.line !== body.line || !onPanel(row, body.panels)) return false
  return row.dataset.edge ? (body.edges ?? []).includes(row.dataset.edge) : true
}

// The shop's page says which answer it shows; ours is laid over it only if it is a later one.
function isNewer(row, entry) {
  if (entry.state !== "answered") return true
  // Which of "all panels in work" it fell on is the shop's to say; its pages made since say it.
  if (entry.body.same && row.dataset.panel !== entry.body.panels[0]) return false
  const { outcome, outcome_id, at } = entry.answer
  if (!["applied", "same"].includes(outcome) || included.has(entry.key)) return false
  return at >= pageAt && (outcome_id ?? Infinity) > Number(served(row).seen ?? 0)
}

function show(row, answer, { kept = false, said = "" }) {
  for (const button of row.querySelectorAll("[data-answer]")) {
    button.setAttribute("aria-pressed", String(button.dataset.answer === answer))
  }
  const waits = row.querySelector("[data-kept]")
  if (waits) waits.hidden = !kept
  const words = row.querySelector("[data-said]")
  if (words && words.textContent !== said) words.textContent = said
}

const hour = (ms) => new Date(ms).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })

function words(entry, row) {
  const text = `${nameOf(entry.who)}, ${hour(entry.at)}${entry.body.reason ? `: ${entry.body.reason}` : ""}`
  return row.dataset.edge && !row.hasAttribute("data-reading") ? ` · ${text}` : text
}

/** Paint every row: the last entry on it that is newer than the page, or the page itself. */
export function paint(entries) {
  const own = entries.filter(isAnswer)
  for (const row of rows()) {
    const base = served(row)
    const last = own.findLast((entry) => isOn(row, entry) && isNewer(row, entry))
    row.dataset.after = last?.key ?? ""
    if (last) row.dataset.seen = last.answer?.outcome_id ?? base.seen ?? 0
    else if (base.seen !== undefined) row.dataset.seen = base.seen
    if (last) show(row, answerOf(last), { kept: last.state === "waiting", said: words(last, row) })
    else show(row, base.answer, { said: base.said })
    if (last?.kind === "reading") fill(row, last.body.value)
  }
  paintDrawing()
}

// A reading that waits stands in its fields, unless somebody is typing over it.
function fill(form, value) {
  for (const [name, typed] of Object.entries(value ?? {})) {
    const field = form.elements?.namedItem(name)
    if (!field || isTyped(field)) continue
    field.value = typed
    keepAsIs(field)
  }
}

export function isTyped(field) {
  if (field instanceof HTMLSelectElement) {
    return [...field.options].some((option) => option.selected !== option.defaultSelected && option.value !== "")
  }
  return field.value !== field.defaultValue
}

/** What stands in the field counts as read, no longer as typed and not kept. */
export function keepAsIs(field) {
  if (field instanceof HTMLSelectElement) {
    for (const option of field.options) option.defaultSelected = option.selected
  } else {
    field.defaultValue = field.value
  }
}

// --- the drawing ---------------------------------------------------------------

/** The group of edges the drawing answers now. */
export function currentGroup() {
  const groups = [...document.querySelectorAll("[data-edge-line]")]
  return groups.find((group) => group.getAttribute("aria-current") === "true") ?? groups[0] ?? null
}

export function makeCurrent(group) {
  for (const other of document.querySelectorAll("[data-edge-line]")) other.removeAttribute("aria-current")
  group.setAttribute("aria-current", "true")
  paintDrawing()
}

export function rowAt(group, edge) {
  const here = group?.querySelectorAll(`[data-line][data-edge="${CSS.escape(edge)}"]`) ?? []
  return [...here].find((row) => row.querySelector("[data-answer]")) ?? null
}

const asDrawn = new WeakMap()

function drawn(element, name) {
  if (!asDrawn.has(element)) asDrawn.set(element, element.getAttribute(name))
  return asDrawn.get(element)
}

// Done here, and not yet drawn so by the shop: the lane turns to ink at once, with its words on it.
function paintLane(lane, answer) {
  const done = answer === "done"
  for (const shape of lane.querySelectorAll(".lane, circle.fill-sheet, circle.fill-tape, circle.fill-ink, text")) {
    const served = drawn(shape, "class") ?? ""
    const ink = shape.localName === "text" ? "fill-sheet" : "fill-ink"
    shape.setAttribute("class", done ? served.replace(/\bfill-[a-z-]+\b/, ink) : served)
  }
  const label = drawn(lane, "aria-label") ?? ""
  lane.setAttribute("aria-label", answer ? `${label}; ${answer} kept on this tablet` : label)
}

export function paintDrawing() {
  const group = currentGroup()
  for (const lane of document.querySelectorAll("svg [data-edge][data-panel]")) {
    const row = rowAt(group, lane.dataset.edge)
    paintLane(lane, row?.dataset.after ? pressed(row) : "")
  }
}
