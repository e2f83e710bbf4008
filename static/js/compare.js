/* Two photos of one place under one slider. Without this script they stand side by side, which says the same. */

const WIDTH = 1200;
const HEIGHT = 900;
const SVG = "http://www.w3.org/2000/svg";

function drawn(name, attributes, parent) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) {
    element.setAttribute(key, value);
  }
  parent?.append(element);
  return element;
}

function picture(img, parent, more = {}) {
  return drawn(
    "image",
    { href: img.src, width: WIDTH, height: HEIGHT, preserveAspectRatio: "xMidYMid slice", ...more },
    parent,
  );
}

function both(hold) {
  const then = hold.querySelector("[data-compare-then]");
  const now = hold.querySelector("[data-compare-now]");
  const svg = drawn("svg", {
    viewBox: `0 0 ${WIDTH} ${HEIGHT}`,
    role: "img",
    "aria-label": `Left: ${then.alt}. Right: ${now.alt}.`,
  });
  const clip = drawn("clipPath", { id: "compare-clip" }, drawn("defs", {}, svg));
  const window_ = drawn("rect", { height: HEIGHT }, clip);
  picture(now, svg);
  picture(then, svg, { "clip-path": "url(#compare-clip)" });
  const edge = drawn("g", {}, svg);
  drawn("path", { d: `M0 0v${HEIGHT}`, class: "compare-line-case" }, edge);
  drawn("path", { d: `M0 0v${HEIGHT}`, class: "compare-line" }, edge);
  drawn("rect", { x: -44, y: HEIGHT / 2 - 44, width: 88, height: 88, class: "compare-knob" }, edge);
  drawn("path", { d: `M-26 ${HEIGHT / 2}h52M-14 ${HEIGHT / 2 - 12}l-12 12 12 12M14 ${HEIGHT / 2 - 12}l12 12-12 12`, class: "compare-arrow" }, edge);
  return {
    svg,
    show(percent) {
      const x = (WIDTH * percent) / 100;
      window_.setAttribute("width", x);
      edge.setAttribute("transform", `translate(${x} 0)`);
    },
  };
}

function start(hold) {
  const figures = [...hold.querySelectorAll("figure")];
  const { svg, show } = both(hold);
  const slider = document.createElement("input");
  Object.assign(slider, { type: "range", min: 0, max: 100, value: 50 });
  slider.setAttribute("aria-label", "How much of the photo of then is shown");
  slider.addEventListener("input", () => show(slider.value));
  svg.addEventListener("pointermove", (event) => {
    if (event.pressure > 0 || event.buttons) {
      follow(event);
    }
  });
  svg.addEventListener("pointerdown", follow);

  function follow(event) {
    const box = svg.getBoundingClientRect();
    slider.value = Math.round((100 * (event.clientX - box.left)) / box.width);
    show(slider.value);
  }

  const words = document.createElement("div");
  words.className = "compare-words";
  for (const figure of figures) {
    const said = document.createElement("p");
    said.append(...figure.querySelector("figcaption").cloneNode(true).childNodes);
    words.append(said);
  }
  const whole = document.createElement("div");
  whole.className = "compare-both";
  whole.append(words, svg, slider);
  hold.append(whole);
  for (const figure of figures) {
    figure.hidden = true;
  }
  show(slider.value);
}

for (const hold of document.querySelectorAll("[data-compare]")) {
  start(hold);
}
