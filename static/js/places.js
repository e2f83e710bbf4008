// The place of a defect on the zoomed panel: touch it, drag it, or move it by keys.
// Kept in thousandths of the panel's box, which the drawing carries as data-box, so no size or zoom moves it.

const SVG = "http://www.w3.org/2000/svg"
const NUDGE = { ArrowLeft: [-10, 0], ArrowRight: [10, 0], ArrowUp: [0, -10], ArrowDown: [0, 10] }

const form = document.querySelector("form[data-defect]")
const sheet = document.querySelector(".drawing-hold svg[data-box]")
const act = form?.querySelector("[data-place]")
const said = form?.querySelector("[data-place-said]")

const field = (name) => form.elements.namedItem(name)
const held = (value) => Math.min(1000, Math.max(0, Math.round(value)))

const mark = document.createElementNS(SVG, "g")
for (const [name, value] of Object.entries({
  class: "mark mark-fresh", tabindex: "0", role: "img", "aria-label": "Place: arrows move it, Delete takes it off",
})) mark.setAttribute(name, value)
for (const [name, shape] of [["circle", { r: 13 }], ["path", { d: "M-20 0h14M6 0h14M0-20v14M0 6v14" }]]) {
  const drawn = document.createElementNS(SVG, name)
  for (const [key, value] of Object.entries(shape)) drawn.setAttribute(key, value)
  mark.append(drawn)
}

function box() {
  const [x, y, width, height] = sheet.dataset.box.split(" ").map(Number)
  return { x, y, width, height }
}

function put(x, y) {
  field("x_mil").value = held(x)
  field("y_mil").value = held(y)
  field("y_mil").dispatchEvent(new Event("input", { bubbles: true }))
}

function show() {
  const is = field("x_mil").value !== ""
  act.textContent = is ? "Take the mark off" : "Mark the place"
  said.textContent = is ? `Marked ${field("x_mil").value / 10} % across and ${field("y_mil").value / 10} % down.` : ""
  if (!is) return mark.remove()
  const { x, y, width, height } = box()
  const at = [x + (width * field("x_mil").value) / 1000, y + (height * field("y_mil").value) / 1000]
  mark.setAttribute("transform", `translate(${at[0]} ${at[1]})`)
  if (!mark.isConnected) sheet.append(mark)
}

function off() {
  field("x_mil").value = field("y_mil").value = ""
  show()
}

function at(event) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(sheet.getScreenCTM().inverse())
  const here = box()
  return [((point.x - here.x) * 1000) / here.width, ((point.y - here.y) * 1000) / here.height]
}

function started(event) {
  if (event.button || event.target.closest("[data-edge]")) return
  if (!event.target.closest(".ground, .mark-fresh, .label")) return
  event.preventDefault()
  put(...at(event))
  sheet.setPointerCapture(event.pointerId)
  const follow = (step) => put(...at(step))
  sheet.addEventListener("pointermove", follow)
  for (const end of ["pointerup", "pointercancel"]) {
    sheet.addEventListener(end, () => sheet.removeEventListener("pointermove", follow), { once: true })
  }
}

function keyed(event) {
  const by = NUDGE[event.key]
  if (event.key === "Delete" || event.key === "Backspace") {
    off()
    act.focus()
  } else if (by) {
    put(Number(field("x_mil").value) + by[0], Number(field("y_mil").value) + by[1])
  } else return
  event.preventDefault()
}

if (form && sheet && act) {
  act.hidden = false
  sheet.toggleAttribute("data-placing", true)
  // A draft is filled in after the page has loaded.
  form.addEventListener("input", (event) => event.target.name === "y_mil" && show())
  setTimeout(show, 400)
  act.addEventListener("click", () => {
    if (field("x_mil").value !== "") return off()
    put(500, 500)
    mark.focus()
  })
  sheet.addEventListener("pointerdown", started)
  mark.addEventListener("keydown", keyed)
  show()
}
