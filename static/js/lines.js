// Numbers beside a text, one a line, and the way from a fault to the line it stands on.

const SPARE = 6;
const text = document.querySelector("[data-lines]");
const numbers = document.querySelector(".lines-numbers");

function count() {
  return text.value.split("\n").length + SPARE;
}

function renumber() {
  const wanted = count();
  while (numbers.children.length < wanted) {
    const mark = document.createElement("a");
    mark.id = `L${numbers.children.length + 1}`;
    mark.textContent = String(numbers.children.length + 1);
    numbers.append(mark, "\n");
  }
  while (numbers.children.length > wanted) {
    numbers.lastChild.remove();
    numbers.lastElementChild.remove();
  }
  text.rows = wanted;
}

function goTo(line) {
  const lines = text.value.split("\n");
  const start = lines.slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
  text.focus({ preventScroll: true });
  text.setSelectionRange(start, start + (lines[line - 1] ?? "").length);
}

if (text && numbers) {
  text.addEventListener("input", renumber);
  for (const link of document.querySelectorAll("[data-line-link]")) {
    link.addEventListener("click", () => goTo(Number(link.dataset.lineLink)));
  }
}
