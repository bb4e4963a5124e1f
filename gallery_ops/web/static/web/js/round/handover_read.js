// The start of a shift: what the one before left behind, and one tap by name that says it was read.

import { button, h } from "./dom.js";
import { byWords } from "./handed_over.js";
import { frontView } from "./drawing.js";
import { KIND_WORDS } from "./handover.js";
import { startNotice } from "./start_notice.js";
import { tick } from "./stop.js";
import { refusedNotice } from "./refused.js";
import { topLine } from "./top_line.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").HandedOver} HandedOver */

/**
 * @param {App} app
 * @returns {Node[]}
 */
export function handedOverScreen(app) {
  const lines = app.round.unread();
  const from = [...new Set(lines.map((line) => line.from))];
  const name = app.round.personName(app.round.context.person_id);
  const read = async () => {
    const kept = await app.enter(null, lines.map((line) => ({ kind: "handover_read", stop_id: null, body: { line: line.id } })), "Read");
    if (!kept) return;
    app.sendNow(); // a page opened in the next two seconds would call them unread
    app.open(null);
  };
  return [
    topLine(app, "before you begin"),
    ...(app.round.canKeep ? [startNotice(app)].filter((node) => node !== null) : [refusedNotice(app)]),
    h("h1", { class: "lede ob-h", tabindex: -1, "data-key": "title" }, h("b", {}, `${from.join(" and ")} left ${lines.length === 1 ? "one line" : `${lines.length} lines`} for you.`)),
    h("ol", { class: "hand" }, byTank(lines).map(([tank, mine]) => tankItem(app, tank, mine))),
    h("div", { class: "close-do" }, tick({ pressed: false, strong: `Read, ${name}`, small: "Whoever wrote it sees your name", key: "tick read", number: "1", onclick: read })),
    h("div", { class: "stop-foot" }, button("Later", () => app.open(null))),
  ];
}

/** @param {App} app @param {string} code @param {HandedOver[]} lines */
function tankItem(app, code, lines) {
  const tank = app.round.pack.tanks.find((t) => t.code === code);
  const head = code ? [h("b", {}, code), " ", h("span", { class: "title" }, tank?.title ?? "")] : ["The whole gallery"];
  return h("li", {}, tank ? frontView(tank, { class: "hand-art", "aria-hidden": "true" }) : h("span", {}), h("div", {}, h("h3", {}, head), lines.map((line) => lineRow(app, line))));
}

/** @param {App} app @param {HandedOver} line */
function lineRow(app, line) {
  const by = byWords(app, line);
  return h("p", { class: "hl" }, h("span", { class: "hk" }, KIND_WORDS[line.line]), h("span", {}, line.text, by && h("b", {}, by), h("small", {}, `${line.from}, ${app.words.when(line.at, app.round.now())}${line.source ? `, ${line.source}` : ""}`)));
}

/**
 * @param {HandedOver[]} lines
 * @returns {[string, HandedOver[]][]} those about the whole gallery last
 */
function byTank(lines) {
  /** @type {Map<string, HandedOver[]>} */
  const found = new Map();
  for (const line of lines) found.set(line.tank ?? "", [...(found.get(line.tank ?? "") ?? []), line]);
  return [...found].sort(([a], [b]) => Number(a === "") - Number(b === ""));
}
