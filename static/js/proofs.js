// Photos on the page: what one shows is said by the place it is taken at, its bytes go into the outbox.

import { keepPhoto } from "./outbox.js"
import { hurry } from "./sender.js"
import { showLost } from "./told.js"
import { askWho } from "./who.js"

let inHand = 0

/** How many photos are being read and written down at this moment. */
export const photosInHand = () => inHand

const job = () => Number(document.body.dataset.job)

/** What this photo proves: the edges touched beside it, the line it stands at, or a defect put right. */
function placesOf(input) {
  const { defect, line, panel, edge } = input.dataset
  if (defect) return [{ defect: Number(defect), after: true }]
  const many = input.closest("[data-photo-many]")
  if (!many) {
    const at = input.closest("[data-line]")?.dataset ?? {}
    return [{ line: line ?? at.line, panel: panel ?? at.panel, edge: edge ?? at.edge ?? "" }]
  }
  const touched = [...many.querySelectorAll("input[name=edge]:checked")]
  return touched.map((box) => ({ line: many.dataset.line, panel: many.dataset.panel, edge: box.value }))
}

const saidAt = (place, edge) => place?.querySelectorAll(`[data-photo-said="${CSS.escape(edge)}"]`) ?? []

function say(place, edge, text) {
  for (const words of saidAt(place, edge)) if (words.textContent !== text) words.textContent = text
}

function askFirst(many) {
  const why = many.querySelector("[data-touch-first]") ?? document.createElement("p")
  why.className = "field-said"
  why.dataset.touchFirst = ""
  why.textContent = "Touch the edges the photo shows first, then take it."
  why.setAttribute("role", "alert")
  many.append(why)
  many.querySelector("input[name=edge]")?.focus()
}

/** What an entry was about, for whoever reads of its refusal on another page. It stays on this tablet. */
export function about(words) {
  const said = [document.querySelector(".bar-where"), words]
  return said.map((element) => element?.textContent.trim().replace(/\s+/g, " ")).filter(Boolean).join(", ")
}

async function taken(input) {
  const [file] = input.files
  if (!file) return
  const places = placesOf(input)
  const many = input.closest("[data-photo-many]")
  const row = input.closest(".row, .edge-group")?.querySelector(".row-text")
  const kept = places.length ? await keepIt(file, places, row) : false
  input.value = ""
  if (!places.length) askFirst(many)
  if (kept && many) for (const box of many.querySelectorAll("input[name=edge]:checked")) box.checked = false
  if (kept) many?.querySelector("[data-touch-first]")?.remove()
}

async function keepIt(file, places, row) {
  const person = await askWho()
  if (!person) return false
  try {
    await keepPhoto({ kind: "photo", job: job(), who: person, body: { places }, about: about(row) }, file)
  } catch (fault) {
    showLost(fault)
    return false
  }
  hurry()
  return true
}

const INPUT = "input[type=file][data-photo], input[type=file][data-photo-input]"

/** A photo counts from the moment it is chosen, also where the page was made anew while the camera was open. */
export function listenPhotos(countAgain) {
  const heard = new WeakSet()
  const chosen = async ({ target: input }) => {
    if (heard.has(input)) return
    heard.add(input)
    inHand += 1
    countAgain()
    try {
      await taken(input)
    } finally {
      heard.delete(input)
      inHand -= 1
      countAgain()
    }
  }
  document.addEventListener("click", ({ target }) => {
    // The listener goes with the input: once the page has let go of it, nothing rises to the document.
    if (target.matches?.(INPUT)) target.addEventListener("change", chosen, { once: true })
  })
  document.addEventListener("change", (event) => event.target.matches?.(INPUT) && chosen(event))
}

/** Where a promised photo belongs on this page. */
export function photoPlace({ kind, body }) {
  const [place] = (kind === "photo" && body.places) || []
  if (!place) return null
  if (place.defect) return document.querySelector(`[data-defect-id="${Number(place.defect)}"]`)
  const { line, panel } = place
  const here = [...document.querySelectorAll("[data-line][data-panel]")].filter(
    (element) => element.dataset.line === line && element.dataset.panel === panel,
  )
  return here.find((element) => element.querySelector("[data-photo-said]")) ?? null
}

function howFar(photo) {
  if (photo.state === "done") return "photo kept"
  if (!photo.sent) return "photo on this tablet, not sent yet"
  return `photo on its way, ${Math.floor((100 * photo.sent) / photo.size)} %`
}

/** Say at each place how far its photo is. */
export function paintPhotos({ entries, photos }) {
  const byEntry = new Map(entries.map((entry) => [entry.key, entry]))
  for (const photo of photos) {
    const entry = byEntry.get(photo.entry)
    if (!entry || entry.job !== job() || photo.state === "refused") continue
    const place = photoPlace(entry)
    if (!place) continue
    for (const { edge } of entry.body.places) say(place, edge ?? "", howFar(photo))
  }
}
