// Who is entering: the name picked on this tablet, for the day; else the one the page suggests. A name, no proof.

const KEPT = "who"
const dialog = () => document.querySelector("dialog#who")
const today = () => new Date().toLocaleDateString("sv")

function picked() {
  try {
    const { id, day } = JSON.parse(localStorage.getItem(KEPT)) ?? {}
    return day === today() ? id : 0
  } catch {
    return 0
  }
}

const button = (id) => document.querySelector(`[data-who="${Number(id)}"]`)

/** The person's id, 0 when nobody is picked. Somebody who is not on this page's list is nobody. */
export function who() {
  const id = picked() || Number(document.body.dataset.defaultWho) || 0
  return !dialog() || button(id) ? id : 0
}

export const nameOf = (id) => button(id)?.textContent.trim() ?? ""

export function showWho() {
  for (const place of document.querySelectorAll("[data-who-name]")) {
    place.textContent = nameOf(who()) || "nobody yet"
  }
}

/** The person's id; asks when nobody is picked. 0 when the question was left. */
export function askWho() {
  const box = dialog()
  if (who() || !box) return Promise.resolve(who())
  box.showModal()
  return new Promise((resolve) => box.addEventListener("close", () => resolve(who()), { once: true }))
}

export function listenWho() {
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-who-open]")) dialog()?.showModal()
    const choice = event.target.closest("[data-who]")
    if (!choice) return
    try {
      localStorage.setItem(KEPT, JSON.stringify({ id: Number(choice.dataset.who), day: today() }))
    } catch {
      // Storage is refused here: the name holds until the page is left.
      document.body.dataset.defaultWho = choice.dataset.who
    }
    dialog()?.close()
    showWho()
  })
  showWho()
}
