// A roll label read from a photo. What it says is shown; a press puts it into the fields, and nothing is kept by that.

const NO_NETWORK = "A photo is read in the shop's network only. Type what stands on the label."

function button(words, press) {
  const made = document.createElement("button")
  made.type = "button"
  made.className = "act act-small"
  made.textContent = words
  made.addEventListener("click", press)
  return made
}

function put(form, given) {
  for (const [name, value] of Object.entries(given)) {
    const field = form.elements.namedItem(name)
    if (!field || !value) continue
    field.value = value
    field.dispatchEvent(new Event("input", { bubbles: true }))
    field.dispatchEvent(new Event("change", { bubbles: true }))
  }
}

function waysOf(code) {
  if (code.bare) return [[`${code.bare} is the roll`, { roll: code.bare }], [`${code.bare} is the lot`, { lot: code.bare }]]
  const words = [code.lot && `lot ${code.lot}`, code.roll && `roll ${code.roll}`].filter(Boolean).join(", ")
  return [[`It says ${words}`, { lot: code.lot, roll: code.roll }]]
}

function tell(place, answer) {
  const form = place.closest("form")
  const parts = answer.found.flatMap((code) =>
    waysOf(code).map(([words, given]) => button(words, () => put(form, given))),
  )
  place.replaceChildren(...parts)
  if (answer.said) place.append(answer.said)
  else place.append(" Compare it with the label, then press.")
}

async function read(photo, place) {
  const sent = new FormData(document.getElementById("label-token"))
  sent.append("photo", photo)
  place.textContent = "Reading…"
  try {
    const answer = await fetch("/bay/codes/", { method: "POST", body: sent, credentials: "same-origin" })
    tell(place, await answer.json())
  } catch {
    place.textContent = NO_NETWORK
  }
}

document.addEventListener("change", (event) => {
  const field = event.target.closest("[data-label-photo]")
  if (!field?.files.length) return
  event.stopPropagation()
  read(field.files[0], field.closest("[data-label]").querySelector("[data-label-read]"))
  field.value = ""
})
