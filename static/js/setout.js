// Set-out on the drawing: panels chosen on the sheet, edges of one panel found by touch.
// The list beside the drawing holds the answer; the drawing only points at it.

function choosing(sheet) {
  const boxOf = (panel) =>
    document.querySelector(`[data-panels] input[value="${CSS.escape(panel.dataset.panel)}"]`)
  const show = (panel) => panel.setAttribute("aria-checked", String(boxOf(panel).checked))
  const panels = [...sheet.querySelectorAll('[role="checkbox"][data-panel]')]
  const toggle = (panel) => {
    boxOf(panel).checked = !boxOf(panel).checked
    boxOf(panel).dispatchEvent(new Event("change", { bubbles: true }))
  }
  sheet.addEventListener("click", (event) => {
    const panel = event.target.closest('[role="checkbox"][data-panel]')
    if (panel) toggle(panel)
  })
  sheet.addEventListener("keydown", (event) => {
    const panel = event.target.closest('[role="checkbox"][data-panel]')
    if (!panel || ![" ", "Enter"].includes(event.key)) return
    event.preventDefault()
    toggle(panel)
  })
  document.querySelector("[data-panels]").addEventListener("change", () => panels.forEach(show))
  panels.forEach(show)
}

function edging(drawing) {
  const rows = document.querySelector("[data-edges]")
  const light = (code) => {
    for (const lane of drawing.querySelectorAll("[data-edge]")) {
      lane.toggleAttribute("data-lit", lane.dataset.edge === code)
    }
    for (const row of rows.querySelectorAll("[data-edge-row]")) {
      row.classList.toggle("row-now", row.dataset.edgeRow === code)
    }
  }
  const open = (event) => {
    const lane = event.target.closest("[data-edge]")
    if (!lane || (event.type === "keydown" && ![" ", "Enter"].includes(event.key))) return
    event.preventDefault()
    const row = rows.querySelector(`[data-edge-row="${CSS.escape(lane.dataset.edge)}"]`)
    // A seam only just drawn has its row once the set-out is kept.
    if (!row) return
    row.querySelector("select, input").focus({ preventScroll: true })
    row.scrollIntoView({ block: "nearest" })
  }
  drawing.addEventListener("click", open)
  drawing.addEventListener("keydown", open)
  rows.addEventListener("focusin", (event) => light(event.target.closest("[data-edge-row]")?.dataset.edgeRow))
  // The drawing is fetched anew when a finish changes: light the same edge in it.
  drawing.addEventListener("htmx:afterSwap", () => {
    light(document.activeElement?.closest("[data-edge-row]")?.dataset.edgeRow)
  })
}

const sheet = document.querySelector("[data-choosing] svg")
if (sheet) choosing(sheet)
const drawing = document.querySelector("[data-edging]")
if (drawing) edging(drawing)
