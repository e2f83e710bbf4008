// From field to field without a touch: Enter goes to the next empty one, and keeps what was typed at the last.

const EMPTY = "input[name], select[name]"

const open = (form) => [...form.elements].filter((field) => field.matches(EMPTY) && field.value.trim() === "")
const isKept = (form) => Boolean(form.querySelector('[data-answer][aria-pressed="true"]'))
const group = (form) => form.closest("[data-edge-line]")

/** The forms of one line asked edge by edge, kept by one press; else the form alone. */
export function formsOf(form) {
  const together = group(form)?.querySelector("[data-keep-all]")
  return together ? [...group(form).querySelectorAll("form[data-reading]")] : [form]
}

/** The next field to type in after this one within what is kept together, or none. */
export function nextField(field) {
  const after = formsOf(field.form)
    .filter((form) => form === field.form || !isKept(form))
    .flatMap(open)
  return after.find((each) => field.compareDocumentPosition(each) & Node.DOCUMENT_POSITION_FOLLOWING) ?? null
}

/** Puts the focus into the first field of the reading asked next, where the next thing asked is one. */
export function focusNext(rows, from) {
  const asked = rows.filter(
    (row) => !row.querySelector('[data-answer][aria-pressed="true"]') && !row.matches("[data-optional]"),
  )
  // What is within counts as following: of the page's main part the first thing asked is next.
  const next = asked.find((row) => from.compareDocumentPosition(row) & Node.DOCUMENT_POSITION_FOLLOWING)
  if (next?.matches("form[data-reading]")) open(next)[0]?.focus({ preventScroll: true })
}
