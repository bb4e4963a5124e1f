// Enter goes to the next box of the sheet, Shift and Enter back; from the last one to the button.

for (const form of document.querySelectorAll("form[data-enter-goes-on]")) {
  form.addEventListener("keydown", (event) => {
    const { key, shiftKey, target } = /** @type {KeyboardEvent} */ (event);
    if (key !== "Enter" || !(target instanceof HTMLInputElement)) return;
    event.preventDefault();
    const boxes = [.../** @type {NodeListOf<HTMLInputElement>} */ (form.querySelectorAll(".pt-boxes input"))];
    const next = boxes[boxes.indexOf(target) + (shiftKey ? -1 : 1)];
    if (next) {
      next.focus();
      next.select();
    } else if (!shiftKey) /** @type {HTMLElement | null} */ (form.querySelector("button[type=submit]"))?.focus();
  });
  if (!document.querySelector("#errors")) /** @type {HTMLInputElement | null} */ (form.querySelector(".pt-boxes input"))?.focus();
}
