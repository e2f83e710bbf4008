// What was typed and not kept yet. Taking a photo can throw a page out of the tablet's memory; typing survives it.

import { asked, read, write } from "./db.js"
import { isTyped } from "./rows.js"

const GOOD_FOR_MS = 12 * 3600 * 1000
const PAUSE_MS = 300
const FORMS = "form[data-reading], form[data-defect]"
const pauses = new Map()

const idOf = (form) => `${location.pathname}#${form.id || form.dataset.panel || ""}`
const fieldsOf = (form) =>
  [...form.elements].filter((field) => field.name && !["file", "hidden", "submit"].includes(field.type))

async function save(form) {
  const values = Object.fromEntries(fieldsOf(form).filter(isTyped).map((field) => [field.name, field.value]))
  const draft = { id: idOf(form), at: Date.now(), values }
  await write(["drafts"], (stores) =>
    Object.keys(values).length ? stores.drafts.put(draft) : stores.drafts.delete(draft.id),
  )
}

export async function dropDraft(form) {
  clearTimeout(pauses.get(idOf(form)))
  await write(["drafts"], (stores) => stores.drafts.delete(idOf(form)))
}

async function restore() {
  const drafts = await read(["drafts"], (stores) => asked(stores.drafts.getAll()))
  const old = drafts.filter((draft) => draft.at < Date.now() - GOOD_FOR_MS)
  if (old.length) await write(["drafts"], (stores) => old.forEach((draft) => stores.drafts.delete(draft.id)))
  for (const form of document.querySelectorAll(FORMS)) {
    const draft = drafts.find((one) => one.id === idOf(form) && !old.includes(one))
    for (const [name, value] of Object.entries(draft?.values ?? {})) {
      const field = form.elements.namedItem(name)
      if (field && !isTyped(field)) field.value = value
    }
  }
}

export function listenDrafts() {
  document.addEventListener("input", (event) => {
    const form = event.target.closest?.(FORMS)
    if (!form) return
    clearTimeout(pauses.get(idOf(form)))
    pauses.set(idOf(form), setTimeout(() => save(form), PAUSE_MS))
  })
  return restore()
}
