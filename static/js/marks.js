// Damage on the body sheet: touch a panel to place a new mark, drag or nudge one that is there.
// Places are thousandths of the panel's box, which the drawing carries as data-box.

const NUDGE = { ArrowLeft: [-10, 0], ArrowRight: [10, 0], ArrowUp: [0, -10], ArrowDown: [0, 10] }
const SVG = "http://www.w3.org/2000/svg"

const hold = document.querySelector("[data-marks]")
const sheet = hold?.querySelector("svg")
const form = document.querySelector("[data-new-mark]")

const field = (within, name) => within.querySelector(`[name$="${name}"]`)
const clamp = (value) => Math.min(1000, Math.max(0, Math.round(value)))

function box(panel) {
  const drawn = sheet.querySelector(`[data-panel="${CSS.escape(panel)}"][data-box]`)
  const [x, y, width, height] = drawn.dataset.box.split(" ").map(Number)
  return { x, y, width, height }
}

function at(event) {
  return new DOMPoint(event.clientX, event.clientY).matrixTransform(sheet.getScreenCTM().inverse())
}

// --- the mark being placed ---------------------------------------------------------

const fresh = document.createElementNS(SVG, "g")
fresh.setAttribute("class", "mark mark-fresh")
fresh.setAttribute("tabindex", "0")
fresh.setAttribute("role", "img")
fresh.setAttribute("aria-label", "New mark: move it with the arrow keys")
fresh.innerHTML = '<circle r="13"/><path d="M-20 0h14M6 0h14M0-20v14M0 6v14"/>'

function showFresh() {
  const panel = field(form, "panel").value
  if (!panel) return fresh.remove()
  const { x, y, width, height } = box(panel)
  const left = x + (width * Number(field(form, "x_mil").value)) / 1000
  const top = y + (height * Number(field(form, "y_mil").value)) / 1000
  fresh.setAttribute("transform", `translate(${left} ${top})`)
  if (!fresh.isConnected) sheet.append(fresh)
}

function placeFresh(panel, x, y) {
  field(form, "panel").value = panel
  field(form, "x_mil").value = clamp(x)
  field(form, "y_mil").value = clamp(y)
  showFresh()
}

function touched(event) {
  const panel = event.target.closest("[data-panel]")?.dataset.panel
  if (!panel || event.target.closest("[data-mark]")) return
  const here = box(panel)
  const point = at(event)
  placeFresh(panel, ((point.x - here.x) * 1000) / here.width, ((point.y - here.y) * 1000) / here.height)
  form.scrollIntoView({ block: "nearest" })
}

// --- marks that are there -----------------------------------------------------------

function rowOf(mark) {
  return document.querySelector(`[data-mark-row="${mark.dataset.mark}"]`)
}

function shift(mark, dx, dy) {
  const row = rowOf(mark)
  const move = row.querySelector("[data-move]")
  const { width, height } = box(row.dataset.panel)
  const x = field(move, "x_mil")
  const y = field(move, "y_mil")
  const next = [clamp(Number(x.value) + dx), clamp(Number(y.value) + dy)]
  const [wasX, wasY] = (mark.dataset.shift ?? "0 0").split(" ").map(Number)
  const now = [
    wasX + ((next[0] - x.value) * width) / 1000,
    wasY + ((next[1] - y.value) * height) / 1000,
  ]
  x.value = next[0]
  y.value = next[1]
  mark.dataset.shift = now.join(" ")
  mark.setAttribute("transform", `translate(${now[0]} ${now[1]})`)
  move.hidden = false
}

function drag(event) {
  const mark = event.target.closest("[data-mark]")
  if (!mark || event.button) return
  const { width, height } = box(rowOf(mark).dataset.panel)
  let last = at(event)
  let moved = false
  const follow = (step) => {
    const point = at(step)
    const [dx, dy] = [((point.x - last.x) * 1000) / width, ((point.y - last.y) * 1000) / height]
    if (Math.abs(dx) < 1 && Math.abs(dy) < 1) return
    moved = true
    last = point
    shift(mark, dx, dy)
  }
  const stop = () => {
    removeEventListener("pointermove", follow)
    removeEventListener("pointerup", stop)
    removeEventListener("pointercancel", stop)
    if (moved) mark.addEventListener("click", (click) => click.preventDefault(), { once: true })
  }
  addEventListener("pointermove", follow)
  addEventListener("pointerup", stop)
  addEventListener("pointercancel", stop)
}

function nudged(event) {
  const by = NUDGE[event.key]
  const mark = event.target.closest(".mark")
  if (!by || !mark) return
  event.preventDefault()
  if (mark !== fresh) return shift(mark, ...by)
  const [x, y] = ["x_mil", "y_mil"].map((name) => Number(field(form, name).value))
  placeFresh(field(form, "panel").value, x + by[0], y + by[1])
}

if (sheet && form) {
  sheet.addEventListener("click", touched)
  sheet.addEventListener("pointerdown", drag)
  sheet.addEventListener("dragstart", (event) => event.preventDefault())
  sheet.addEventListener("keydown", nudged)
  field(form, "panel").addEventListener("change", (event) => placeFresh(event.target.value, 500, 500))
  showFresh()
}
