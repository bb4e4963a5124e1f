// The small shapes. Each stands beside its word.

import { s } from "./dom.js";

/** @typedef {"to_do" | "half" | "done" | "skipped" | "empty" | "held"} StopMark */

/**
 * The vessel of a stop.
 * @param {StopMark} mark
 */
export function vessel(mark) {
  const open = "M2 2V18H18V2";
  /** @type {Record<StopMark, SVGElement[]>} */
  const shapes = {
    to_do: [s("path", { class: "o", d: open })],
    half: [s("path", { class: "f", d: "M2 10H18V18H2Z" }), s("path", { class: "o", d: open })],
    done: [s("path", { class: "f", d: "M2 5H18V18H2Z" }), s("path", { class: "o", d: open }), s("path", { class: "k", d: "M6 11L9 14.5L14.5 7.5" })],
    skipped: [s("path", { class: "o", d: "M2 2V18H18V2M0 20L20 0" })],
    empty: [s("path", { class: "o d", d: open })],
    held: [s("path", { class: "o", d: "M2 2H18V18H2Z" }), s("path", { class: "f", d: "M7.5 7.5H12.5V12.5H7.5Z" })],
  };
  return s("svg", { class: "mark", viewBox: "0 0 20 20", "aria-hidden": "true", focusable: "false" }, shapes[mark]);
}

/**
 * The big vessel of a tick.
 * @param {boolean} full
 */
export function tickVessel(full) {
  return s(
    "svg",
    { viewBox: "0 0 40 36", "aria-hidden": "true", focusable: "false" },
    full && s("path", { class: "f", d: "M3 8H37V33H3Z" }),
    s("path", { class: "o", d: "M4 3V32H36V3" }),
    full && s("path", { class: "k", d: "M12 20L18 26L29 14" }),
  );
}

/** @param {boolean} full  one press of the pump */
export function pip(full) {
  return s("svg", { viewBox: "0 0 24 24", preserveAspectRatio: "none" }, s("path", { class: full ? "f" : "o", d: "M2 2V22H22V2" }));
}

/**
 * What follows from a reason, drawn.
 * @param {"moves" | "late" | "handed" | "rests" | "linked" | "first_minute"} line
 */
export function effectLine(line) {
  const ground = () => s("path", { class: "g", d: "M2 18H70" });
  const post = () => s("path", { class: "p", d: "M12 10V26" });
  const bead = (/** @type {string} */ kind, /** @type {number} */ x, y = 18) => s("circle", { class: kind, cx: x, cy: y, r: 5 });
  const shapes = {
    moves: () => [ground(), post(), bead("o", 12), s("path", { class: "x", d: "M20 18H48M42 12L48 18L42 24" }), bead("b", 58)],
    late: () => [ground(), post(), bead("b", 12), s("path", { class: "x", d: "M22 18H46" }), s("path", { class: "p", d: "M46 12V24" })],
    handed: () => [s("path", { class: "g", d: "M2 26H70M2 8H70" }), bead("o", 12, 26), s("path", { class: "x", d: "M18 24L46 11" }), bead("b", 54, 8)],
    rests: () => [s("path", { class: "g dd", d: "M2 18H70" }), bead("o", 12)],
    linked: () => [ground(), post(), bead("b", 12), bead("o", 30), s("path", { class: "x", d: "M17 18H25" })],
    first_minute: () => [ground(), post(), s("path", { class: "b", d: "M44 6L56 18L44 30L32 18Z" })],
  };
  return s("svg", { class: "eff", viewBox: "0 0 72 36", "aria-hidden": "true", focusable: "false" }, shapes[line]());
}

/** @param {number} fill  0 to 1: how dark the drop is, drawn as height */
export function drop(fill) {
  const top = 18 - 14 * fill;
  return s(
    "svg",
    { class: "mark", viewBox: "0 0 20 20", "aria-hidden": "true", focusable: "false" },
    s("path", { class: "f", d: `M4 ${top}H16V18H4Z` }),
    s("path", { class: "o", d: "M4 2V18H16V2" }),
  );
}

export function diamond() {
  return s("svg", { viewBox: "0 0 20 20", "aria-hidden": "true", focusable: "false" }, s("path", { d: "M10 0L20 10L10 20L0 10Z" }));
}
