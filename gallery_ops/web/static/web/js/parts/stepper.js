// Minus and plus beside a number, for one wet hand. The field stays empty until something is typed or
// pressed; the first press begins at the last value and says so.

/** @param {string} text */
function read(text) {
  const number = Number(text.trim().replace(",", "."));
  return text.trim() === "" || Number.isNaN(number) ? null : number;
}

/**
 * @param {number} value
 * @param {string} mark
 */
function show(value, mark) {
  return String(Math.round(value * 1000) / 1000).replace(".", mark);
}

/** @param {HTMLElement} part */
function wire(part) {
  const field = part.querySelector("input");
  const words = part.parentElement?.querySelector("[data-step-words]");
  const scale = document.querySelector("select[data-steps]");
  if (!(field instanceof HTMLInputElement)) return;
  const mark = part.dataset.mark ?? ".";
  const step = () => {
    const option = scale instanceof HTMLSelectElement ? scale.selectedOptions[0] : null;
    return read(option?.dataset.step ?? part.dataset.step ?? "") ?? 1;
  };
  for (const button of part.querySelectorAll("button[data-way]")) {
    if (!(button instanceof HTMLButtonElement)) continue;
    button.hidden = false;
    button.addEventListener("click", () => {
      const now = read(field.value);
      const last = read(part.dataset.last ?? "");
      if (now === null && last !== null) {
        field.value = show(last, mark);
        if (words) words.textContent = words.getAttribute("data-step-words") ?? "";
      } else {
        const way = button.dataset.way === "less" ? -1 : 1;
        field.value = show(Math.max(0, (now ?? 0) + way * step()), mark);
        if (words) words.textContent = "";
      }
      field.dispatchEvent(new Event("input", { bubbles: true }));
    });
  }
}

for (const part of document.querySelectorAll("[data-stepper]")) {
  if (part instanceof HTMLElement) wire(part);
}
