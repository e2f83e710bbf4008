// Counts down to the moments the server named. The sentence stays the server's; a reload loses nothing.

const MINUTE = 60_000

function words(ms) {
  const minutes = Math.ceil(ms / MINUTE)
  if (minutes <= 0) return "now"
  const hours = Math.floor(minutes / 60)
  return hours ? `${hours} h ${minutes % 60} min left` : `${minutes} min left`
}

// A timer's figures change too often to be read aloud: what is said is that little is left, and that it is over.
const voice = document.createElement("p")
voice.className = "unseen"
voice.setAttribute("role", "status")
document.body.append(voice)
const SAY_AT = [5 * MINUTE, 0]
const said = new Map()

function say(clock, ms) {
  const key = `${clock.querySelector(".why")?.textContent} ${clock.dataset.endsAt}`
  const passed = SAY_AT.filter((at) => ms <= at).length
  const before = said.get(key) ?? passed
  said.set(key, passed)
  if (passed > before) {
    voice.textContent = `${clock.querySelector(".why")?.textContent ?? ""}: ${ms <= 0 ? "over" : words(ms)}.`
  }
}

function tick() {
  for (const clock of document.querySelectorAll("[data-ends-at]")) {
    const left = clock.querySelector("[data-clock-left]")
    const ends = Date.parse(clock.dataset.endsAt)
    if (!left || !ends) continue
    left.textContent = `(${words(ends - Date.now())})`
    say(clock, ends - Date.now())
  }
}

tick()
setInterval(tick, 15_000)
