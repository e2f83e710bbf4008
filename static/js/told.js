// What a person has to be told stays until it is read: at the row it is about, or above the page.

import { unread } from "./outbox.js"
import { link } from "./sender.js"
import { markRead } from "./settled.js"

const SVG = "http://www.w3.org/2000/svg"
const TROUBLE = "M12 3.5v11.5M12 18v3.5"
const PLAIN_HTTP = "open-note"

function mark() {
  const svg = document.createElementNS(SVG, "svg")
  const attributes = { class: "mark mark-wrong", viewBox: "0 0 24 24", width: 24, height: 24, "aria-hidden": "true" }
  for (const [name, value] of Object.entries(attributes)) svg.setAttribute(name, value)
  const path = document.createElementNS(SVG, "path")
  for (const [name, value] of [["d", TROUBLE], ["stroke", "currentColor"], ["stroke-width", "3.6"]]) {
    path.setAttribute(name, value)
  }
  svg.append(path)
  return svg
}

function button(words, act) {
  const element = Object.assign(document.createElement("button"), { type: "button", className: "act act-small" })
  element.textContent = words
  element.addEventListener("click", act)
  return element
}

function note(id, text, { code = "", read = null, quiet = false } = {}) {
  const box = document.createElement("div")
  box.className = quiet ? "note" : "told"
  box.dataset.note = id
  box.setAttribute("role", "status")
  const words = document.createElement("p")
  words.className = quiet ? "" : "field-said"
  if (code) words.dataset.reason = code
  const said = document.createElement("span")
  said.textContent = text
  words.append(...(quiet ? [] : [mark()]), said)
  box.append(words)
  if (read) box.append(button("OK,\u00a0seen", read))
  return box
}

const above = () => document.querySelector("#messages") ?? document.querySelector("main")
const shown = (id) => document.querySelector(`[data-note="${CSS.escape(id)}"]`)

function put(id, place, make) {
  if (shown(id)) return
  place.append(make())
}

/** Refusals and conflicts nobody has read yet; `rowOf` finds where an entry belongs on this page. */
export function showTold(entries, job, rowOf) {
  const open = unread(entries)
  for (const box of document.querySelectorAll("[data-note]")) {
    const own = ["link", "lost", PLAIN_HTTP].includes(box.dataset.note)
    if (!own && !open.some((entry) => entry.key === box.dataset.note)) box.remove()
  }
  for (const entry of open) {
    const row = entry.job === job ? rowOf(entry) : null
    const about = row || !entry.about ? "" : `${entry.about}: `
    const options = { code: entry.answer.reasons[0]?.code, read: () => markRead(entry.key) }
    put(entry.key, row ?? above(), () => note(entry.key, about + entry.answer.detail, options))
  }
}

/** What keeps entries from the shop, as long as it does and something waits. Being away is no trouble by itself. */
export function showLink(count) {
  const said = count && !link.away ? link.said : ""
  const box = shown("link")
  if (box && box.textContent !== said) box.remove()
  if (said) put("link", above(), () => note("link", said))
}

/** Not kept: the one thing that may never be overwritten by anything else. */
export function showLost(fault) {
  const full = fault?.name === "QuotaExceededError"
  const why = full ? "This tablet has no room left." : "This browser does not let the page keep anything."
  shown("lost")?.remove()
  const box = note("lost", `Not saved: ${why} What you just entered is nowhere. Write it down, and tell the owner.`, {
    read: () => box.remove(),
  })
  above().append(box)
}

/** Once a day where the page came without encryption: what is off, in a sentence. */
export function showPlainHttp() {
  const today = new Date().toLocaleDateString("sv")
  if (isSecureContext || localStorage.getItem(PLAIN_HTTP) === today) return
  const text =
    "This page came without encryption (http). Entries are kept and sent all the same, but the screen may go dark " +
    "during work, and pages do not open while the network is away."
  const box = note(PLAIN_HTTP, text, {
    quiet: true,
    read: () => {
      localStorage.setItem(PLAIN_HTTP, today)
      box.remove()
    },
  })
  above().append(box)
}
