// A pad to sign on. Strokes are kept as whole thousandths of the pad in a hidden field, drawn as one path.

const MOST_STROKES = 200
const MOST_POINTS = 6000
const STEP = 4
const HEIGHT = 0.32 // the pad is 1000 wide and 320 high
const PEN_STEP = 25
const PEN = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -3], ArrowDown: [0, 3] }
const kept = (value) => Math.min(1000, Math.max(0, value))

function read(field) {
  try {
    const kept = JSON.parse(field.value || "[]")
    return Array.isArray(kept) ? kept : []
  } catch {
    return []
  }
}

function path(strokes) {
  return strokes
    .map((stroke) => {
      const points = stroke.length > 1 ? stroke : [stroke[0], stroke[0]]
      return points.map(([x, y], at) => `${at ? "L" : "M"}${x} ${Math.round(y * HEIGHT)}`).join("")
    })
    .join(" ")
}

function place(event, sheet) {
  const box = sheet.getBoundingClientRect()
  const thousandth = (value) => Math.min(1000, Math.max(0, Math.round(value * 1000)))
  return [
    thousandth((event.clientX - box.left) / box.width),
    thousandth((event.clientY - box.top) / box.height),
  ]
}

function start(pad) {
  const sheet = pad.querySelector("[data-pad-sheet]")
  const ink = pad.querySelector("[data-pad-ink]")
  const field = pad.querySelector("[data-strokes]")
  const said = pad.querySelector("[data-pad-said]")
  const hint = said.textContent
  let strokes = read(field)
  let stroke = null

  const count = () => strokes.reduce((sum, each) => sum + each.length, 0)
  const show = () => {
    ink.setAttribute("d", path(strokes))
    field.value = strokes.length ? JSON.stringify(strokes) : ""
    said.textContent = strokes.length ? "Signed here." : hint
  }

  sheet.addEventListener("pointerdown", (event) => {
    if (event.button || strokes.length >= MOST_STROKES || count() >= MOST_POINTS) return
    event.preventDefault()
    sheet.setPointerCapture(event.pointerId)
    stroke = [place(event, sheet)]
    strokes.push(stroke)
    show()
  })
  sheet.addEventListener("pointermove", (event) => {
    if (!stroke) return
    const seen = event.getCoalescedEvents?.() ?? []
    for (const each of seen.length ? seen : [event]) {
      const [x, y] = place(each, sheet)
      const [lastX, lastY] = stroke[stroke.length - 1]
      if (Math.abs(x - lastX) + Math.abs(y - lastY) >= STEP && count() < MOST_POINTS) stroke.push([x, y])
    }
    ink.setAttribute("d", path(strokes))
  })
  for (const end of ["pointerup", "pointercancel"]) {
    sheet.addEventListener(end, () => {
      if (stroke) show()
      stroke = null
    })
  }

  // By keys: space puts the pen down and lifts it, arrows move it. Whoever holds no pen signs as well.
  const nib = pad.querySelector("[data-pad-nib]")
  let pen = [120, 600]
  let down = null
  const point = () => nib.setAttribute("transform", `translate(${pen[0]} ${pen[1] * HEIGHT})`)
  sheet.addEventListener("keydown", (event) => {
    const by = PEN[event.key]
    if (!by && event.key !== " ") return
    event.preventDefault()
    if (by) {
      pen = [kept(pen[0] + by[0] * PEN_STEP), kept(pen[1] + by[1] * PEN_STEP)]
      if (down && count() < MOST_POINTS) down.push(pen)
    } else if (down) {
      down = null
    } else if (strokes.length < MOST_STROKES) {
      down = [pen]
      strokes.push(down)
    }
    nib.toggleAttribute("data-down", Boolean(down))
    point()
    show()
  })
  sheet.addEventListener("blur", () => {
    down = null
    nib.removeAttribute("data-down")
  })
  point()
  pad.querySelector("[data-pad-clear]").addEventListener("click", () => {
    strokes = []
    show()
  })
  show()
}

document.querySelectorAll("[data-pad]").forEach(start)
