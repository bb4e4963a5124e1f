// What the shift before left for one stop.

import { h } from "./dom.js";
import { KIND_WORDS } from "./handover.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").HandedOver} HandedOver */

/**
 * What was left for this stop, read or not, above the looks.
 * @param {App} app
 * @param {import("./pack.js").Stop} stop
 */
export function handedOverAt(app, stop) {
  return app.round.handedOver().filter((line) => line.tank && line.tank === stop.tank).map((line) => h("p", { class: "handed" }, h("b", {}, `${line.from}: `), `${KIND_WORDS[line.line]}: ${line.text}${byWords(app, line)}`));
}

/** @param {App} app @param {HandedOver} line */
export function byWords(app, { by }) {
  return by ? `, by ${app.words.day(by.slice(0, 10))}${by.length > 10 ? ` ${by.slice(11)}` : ""}` : "";
}
