// Counts down to the moments the server named. The sentence stays the server's; a reload loses nothing.

const MINUTE = 60_000

function words(ms) {
  const minutes = Math.ceil(ms / MINUTE)
  if (minutes <= 0) return "now"
  const hours = Math.floor(minutes / 60)
  return hours ? `${hours} h ${minutes % 60} min left` : `${minutes} min left`
}

function tick() {
  for (const clock of document.querySelectorAll("[data-ends-at]")) {
    const left = clock.querySelector("[data-clock-left]")
    const ends = Date.parse(clock.dataset.endsAt)
    if (left && ends) left.textContent = `(${words(ends - Date.now())})`
  }
}

tick()
setInterval(tick, 15_000)
