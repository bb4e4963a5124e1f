// The round by keyboard: 1 and 2 the ticks, on a card 1 to 7 its lines, u takes back, arrows between looks, Esc closes.

/**
 * @param {import("./app.js").App} app
 * @param {HTMLElement} page
 */
export function listenToKeys(app, page) {
  document.addEventListener("keydown", (event) => {
    if (event.repeat || event.ctrlKey || event.metaKey || event.altKey) return;
    const typing = /** @type {Element} */ (event.target).matches?.("input, textarea, select");
    if (event.key === "Escape" && app.panel) {
      event.preventDefault();
      app.open(null);
      return;
    }
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      if (step(page, event.key === "ArrowDown" ? 1 : -1)) event.preventDefault();
      return;
    }
    if (typing) return;
    const ticks = { 1: "tick 1", 2: "tick 2" };
    const line = /^[1-7]$/.test(event.key) && page.querySelector(`[data-key="line ${event.key}"]`);
    if (line) return /** @type {HTMLElement} */ (line).click();
    const key = event.key === "1" || event.key === "2" ? ticks[event.key] : event.key === "u" ? "undo" : null;
    const target = key && page.querySelector(`[data-key="${key}"]`);
    if (target) {
      event.preventDefault();
      /** @type {HTMLElement} */ (target).click();
    }
  });
}

/**
 * @param {HTMLElement} page
 * @param {1 | -1} way
 * @returns {boolean} the focus has moved
 */
function step(page, way) {
  const rows = /** @type {HTMLElement[]} */ ([...page.querySelectorAll("[data-look], .choice")]);
  const at = rows.indexOf(/** @type {HTMLElement} */ (document.activeElement));
  if (!rows.length || (at === -1 && document.activeElement?.matches("input, textarea"))) return false;
  const to = rows[at === -1 ? (way === 1 ? 0 : rows.length - 1) : at + way];
  to?.focus();
  return Boolean(to);
}
