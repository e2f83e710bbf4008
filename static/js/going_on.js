// The page goes on by itself when its stage is answered: to the next stage, or to the signature. A tablet may say no.

const OFF = "stays"
const SAME = "same-for-all"

const link = () => document.querySelector("[data-onward]")
const job = () => document.body.dataset.job
let lacked = false

function read(storage, key) {
  try {
    return storage.getItem(key)
  } catch {
    return null
  }
}

function write(storage, key, value) {
  try {
    if (value === null) storage.removeItem(key)
    else storage.setItem(key, value)
  } catch {
    // Storage is refused here: the choice holds for this page alone.
  }
}

/** Goes on where this page saw the last thing answered; a finished stage that is only looked at stays. */
export function goOn(unsent) {
  const goes = document.querySelector("[data-goes-on]")
  if (!lacked || unsent || !link() || !goes?.checked || document.querySelector("dialog[open]")) return
  lacked = false
  location.assign(link().href)
}

export function listenGoing() {
  const goes = document.querySelector("[data-goes-on]")
  const same = document.querySelector("[data-same-for-all]")
  lacked = Boolean(goes) && !link()
  if (goes) {
    goes.checked = read(localStorage, OFF) !== "1"
    goes.addEventListener("change", () => write(localStorage, OFF, goes.checked ? null : "1"))
  }
  if (same) {
    // Of this car, until the tablet is put away: the page changes often, the way of working does not.
    same.checked = read(sessionStorage, SAME) === job()
    same.addEventListener("change", () => write(sessionStorage, SAME, same.checked ? job() : null))
  }
}
