// Fetches the parts of a page afresh once the shop has answered. A part in which somebody is typing is left alone.

import { includes, isTyped } from "./rows.js"

const TIMEOUT_MS = 8_000
const LONGEST_PRESS_MS = 2_000
const TYPED = "input:not([type=checkbox], [type=radio], [type=file], [type=hidden]), select, textarea"

function isInUse(part) {
  const at = document.activeElement
  if (at && part.contains(at) && at.matches(TYPED)) return true
  return [...part.querySelectorAll(TYPED)].some(isTyped)
}

let down = false
addEventListener("pointerdown", () => (down = true), true)
for (const end of ["pointerup", "pointercancel"]) addEventListener(end, () => (down = false), true)

// What is under a finger stays until the finger has gone: a press on something made anew meanwhile is no press.
async function untilLifted() {
  for (let waited = 0; down && waited < LONGEST_PRESS_MS; waited += 40) {
    await new Promise((resolve) => setTimeout(resolve, 40))
  }
}

async function fetched(name) {
  const address = new URL(location.href)
  address.searchParams.set("part", name)
  const stop = new AbortController()
  const timer = setTimeout(() => stop.abort(), TIMEOUT_MS)
  try {
    const options = { redirect: "error", credentials: "same-origin", cache: "no-store", signal: stop.signal }
    const answer = await fetch(address, options)
    const text = answer.ok ? await answer.text() : ""
    // A whole page is not the part that was asked for: somebody else's network answered.
    return /<html|<!doctype/i.test(text) ? "" : text
  } finally {
    clearTimeout(timer)
  }
}

// What a person had open, chosen or under the finger, so that a swap takes none of it away.
function stateOf(part) {
  const keyed = (selector, key) => [...part.querySelectorAll(selector)].map(key)
  return {
    focus: part.contains(document.activeElement) ? document.activeElement.id : "",
    closed: keyed("[id] details", (box) => [box.closest("[id]").id, box.open]),
    current: part.querySelector('[data-edge-line][aria-current="true"]')?.id,
    chosen: keyed("[data-photo-many] input[name=edge]:checked", (box) => [
      box.form.dataset.line,
      box.form.dataset.panel,
      box.value,
    ]),
  }
}

function putBack(part, state) {
  const at = (id) => part.querySelector(`[id="${CSS.escape(id)}"]`)
  for (const [id, open] of state.closed) {
    const box = at(id)?.querySelector("details")
    if (box) box.open = open
  }
  if (state.current && at(state.current)) {
    for (const group of part.querySelectorAll("[data-edge-line]")) group.removeAttribute("aria-current")
    at(state.current).setAttribute("aria-current", "true")
  }
  for (const box of part.querySelectorAll("[data-photo-many] input[name=edge]")) {
    const { line, panel } = box.form.dataset
    box.checked = state.chosen.some(([l, p, edge]) => l === line && p === panel && edge === box.value)
  }
  if (state.focus) at(state.focus)?.focus({ preventScroll: true })
}

/** Refresh what may be refreshed; `keys` are the entries the shop had answered before we asked. */
export async function refresh(keys, paintNow) {
  let whole = true
  for (const part of document.querySelectorAll("[data-refresh]")) {
    const html = isInUse(part) ? "" : await fetched(part.dataset.refresh)
    await untilLifted()
    if (!html || isInUse(part)) {
      whole = whole && !part.querySelector("[data-line]")
      continue
    }
    const state = stateOf(part)
    part.innerHTML = html
    putBack(part, state)
    if (part.querySelector("[data-line]")) includes(keys)
    paintNow()
  }
  return whole
}
