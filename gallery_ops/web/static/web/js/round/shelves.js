// Two shelves: what stands on this tablet, what stands on the gallery computer, one vessel an entry.

import { h, s } from "./dom.js";

const WIDTH = 308;
const FLOOR = 28;
const MOST = 120;

/** @param {number} n  how many stand there @param {number} widest */
function step(n, widest) {
  return Math.min(widest, (WIDTH - 8) / Math.max(1, n));
}

/** @param {number} waiting @param {number} held */
function here(waiting, held) {
  const shown = Math.min(MOST, waiting + held);
  const each = step(shown, 22);
  const wide = each * 0.72;
  return Array.from({ length: shown }, (_, i) => {
    const x = 6 + i * each;
    if (i >= shown - Math.min(held, shown)) {
      const inner = wide / 3;
      return [s("path", { class: "o", d: `M${x} 6H${x + wide}V${FLOOR}H${x}Z` }), s("path", { class: "f", d: `M${x + inner} 14H${x + 2 * inner}V20H${x + inner}Z` })];
    }
    return [s("path", { class: "f", d: `M${x} 8V${FLOOR}H${x + wide}V8Z` }), s("path", { class: "o", d: `M${x} 4V${FLOOR}H${x + wide}V4` })];
  });
}

/** @param {number} taken */
function there(taken) {
  const shown = Math.min(MOST, taken);
  const each = step(shown, 4.8);
  return Array.from({ length: shown }, (_, i) => s("path", { class: "f", d: `M${4 + i * each} 16V${FLOOR}h${each * 0.66}V16Z` }));
}

/** @param {unknown} vessels */
function shelf(vessels) {
  return s("svg", { class: "ob-art", viewBox: `0 0 ${WIDTH} 30`, "aria-hidden": "true", focusable: "false" }, s("path", { class: "sh", d: `M0 29H${WIDTH}` }), vessels);
}

/**
 * @param {{waiting: number, held: number, taken: number}} counts
 * @param {{here: string, gap: string[], there: string}} said
 * @param {"page" | "tablet"} holds
 * @returns {HTMLElement}
 */
export function shelves({ waiting, held, taken }, said, holds) {
  return h(
    "div",
    { class: "ob-shelves" },
    h("div", {}, h("b", {}, holds === "tablet" ? "on this tablet" : "in this page"), shelf(here(waiting, held)), h("span", { class: "note" }, said.here)),
    h("p", { class: "ob-gap note" }, said.gap.map((line) => h("span", {}, line))),
    h("div", {}, h("b", {}, "on the gallery computer"), shelf(there(taken)), h("span", { class: "note" }, said.there)),
  );
}
