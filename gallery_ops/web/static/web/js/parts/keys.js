// Keys of a desk page: g then a letter jumps to a place, / finds, ? lists them. They can be turned off.

const KEPT = "single-keys";
const WAIT_MS = 1500;

/** @returns {boolean} whether single keys are wanted on this device */
function wanted() {
  try {
    return localStorage.getItem(KEPT) !== "off";
  } catch {
    return true;
  }
}

/** @param {boolean} on */
function keep(on) {
  try {
    localStorage.setItem(KEPT, on ? "on" : "off");
  } catch {
    // A private window keeps nothing: the choice then holds for this page only.
  }
}

/** @param {EventTarget | null} target */
function isTyping(target) {
  return target instanceof HTMLElement && (target.isContentEditable || target.matches("input, select, textarea"));
}

/** @type {HTMLDialogElement | null} */
const list = document.querySelector("#keys");
const turn = list?.querySelector('[data-keys="turn"]');
let on = wanted();
let jumpUntil = 0;

function label() {
  if (turn instanceof HTMLElement) turn.textContent = (on ? turn.dataset.on : turn.dataset.off) ?? "";
}

/** @param {string} key */
function jump(key) {
  const door = document.querySelector(`[data-jump="${CSS.escape(key)}"]`);
  if (door instanceof HTMLAnchorElement) door.click();
}

/** The row that has the focus goes on the order; without one nothing happens. */
function addToOrder() {
  const row = document.activeElement?.closest(".strip-item");
  const button = row?.querySelector("[data-add]");
  if (button instanceof HTMLButtonElement) button.click();
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || event.defaultPrevented || isTyping(event.target)) return;
  if (event.key === "?") {
    event.preventDefault();
    if (!list?.open) list?.showModal();
    return;
  }
  if (!on || list?.open) return;
  if (performance.now() < jumpUntil) {
    jumpUntil = 0;
    jump(event.key);
    return;
  }
  if (event.key === "o") addToOrder();
  if (event.key === "g") jumpUntil = performance.now() + WAIT_MS;
  if (event.key === "/") {
    const field = document.querySelector("[data-find]");
    if (field instanceof HTMLElement) {
      event.preventDefault();
      field.focus();
    }
  }
});

list?.addEventListener("click", (event) => {
  const pressed = event.target instanceof Element ? event.target.closest("[data-keys]") : null;
  if (!(pressed instanceof HTMLElement)) return;
  if (pressed.dataset.keys === "close") list.close();
  if (pressed.dataset.keys === "turn") {
    on = !on;
    keep(on);
    label();
  }
});

label();

// A form that came back with errors: the summary takes the focus, without a jump for those who read on.
const errors = document.querySelector("#errors");
if (errors instanceof HTMLElement) errors.focus();
