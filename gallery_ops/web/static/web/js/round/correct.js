// One entry put right: another tank or another number, each with a reason; both lines stay.

import { button, h } from "./dom.js";
import { entryWords } from "./entry_words.js";
import { back } from "./fields.js";
import { ANOTHER_TANK, amendDraft, canMove, moveDraft, numberOf } from "./kinds/correction.js";
import { readNumber, stepper, thousandths } from "./pad.js";
import { holding } from "./state.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Stop} Stop */
/** @typedef {import("./pack.js").Entry} Entry */

const LONGEST_REASON = 200;

/**
 * An entry of this round that stands and can be put right.
 * @param {App} app
 * @param {string} id
 * @returns {{stop: Stop, entry: Entry} | null}
 */
export function correctable(app, id) {
  for (const stop of app.round.pack.stops) {
    const entry = holding(app.round.entriesAt(stop)).find((one) => one.action_id === id);
    if (entry && stop.tank && canMove(entry)) return { stop, entry };
  }
  return null;
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {string} id
 */
export function correctPanel(app, stop, id) {
  const entry = correctable(app, id)?.entry;
  if (!entry) return h("div", { class: "opened" }, h("h2", { class: "open-h", tabindex: -1, "data-key": "panel" }, "This entry was taken back or put right already."), back(app));
  const own = entry.person_id === app.round.context.person_id;
  const reason = /** @type {HTMLInputElement} */ (h("input", { type: "text", maxlength: LONGEST_REASON, id: "why-right", "data-key": "reason" }));
  const error = h("p", { class: "field-err", role: "alert", hidden: true });
  const wrong = (/** @type {string} */ sentence) => {
    error.hidden = false;
    error.textContent = sentence;
    return null;
  };
  const move = (/** @type {string} */ tank) => app.enter(stop, [moveDraft(stop, entry, tank, reason.value.trim() || ANOTHER_TANK)], `${stop.tank}: moved to ${tank}`);
  const tanks = app.round.pack.stops.filter((to) => to.tank && to.id !== stop.id && to.empty_day === null);
  return h(
    "div",
    { class: "opened" },
    h("h2", { class: "open-h", tabindex: -1, "data-key": "panel" }, `${entryWords(/** @type {any} */ (entry), app.round.pack, app.words)}, ${app.words.time(entry.done_at)}. What should it be?`),
    h("p", {}, own ? "Both lines stay; stock and plan follow. " : h("b", {}, `This is ${app.round.personName(entry.person_id)}’s entry. It is kept, and counts when somebody says so who may put others’ entries right.`)),
    h("div", { class: "field" }, h("label", { for: "why-right" }, "Reason, in a few words"), reason),
    numberPart(app, stop, entry, reason, wrong),
    error,
    h("h2", { class: "half-h" }, `${numberOf(entry) ? "Or move it" : "Move it"} to the tank where it was done`),
    h("div", { class: "skip-what" }, tanks.map((to) => button(/** @type {string} */ (to.tank), () => move(/** @type {string} */ (to.tank)), { class: "btn btn-wet", "data-key": `move to ${to.tank}` }))),
    back(app),
  );
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {Entry} entry
 * @param {HTMLInputElement} reason
 * @param {(sentence: string) => null} wrong
 */
function numberPart(app, stop, entry, reason, wrong) {
  const of = numberOf(entry);
  if (!of) return null;
  const mark = app.round.pack.showroom.decimal_mark;
  const { element, input } = stepper({ label: `What it was, in ${of.unit || "numbers"}`, unit: of.unit || "number", step: of.field === "presses" ? 1 : 0.1, from: Number(of.now), value: "", mark, onInput: () => null, key: "number" });
  const keep = () => {
    const read = readNumber(input.value);
    if ("sentence" in read) return wrong(read.sentence);
    if (!reason.value.trim()) return wrong("Say why in a few words: the reason stands between both lines.");
    const changes = changesOf(of.field, read.typed);
    if (!changes) return wrong(of.field === "presses" ? "Presses are whole numbers, 0 or more." : `At most three decimals: “${input.value}” is finer.`);
    return app.enter(stop, [amendDraft(stop, entry, changes, reason.value.trim())], `${stop.tank}: put right`);
  };
  return h("div", {}, h("h2", { class: "half-h" }, `It was another number, not ${of.now.replace(".", mark)} ${of.unit}`), h("div", { class: "field field-wet" }, element), button("Put it right", keep, { class: "btn btn-act btn-wet wide", "data-key": "put right" }));
}

/**
 * @param {"presses" | "given_ul" | "given_mg" | "value"} field
 * @param {import("./pad.js").Typed} typed
 * @returns {Record<string, number | string> | null}
 */
function changesOf(field, typed) {
  if (field === "value") return { value: typed.value };
  if (field === "presses") return /^\d{1,3}$/.test(typed.value) ? { presses: typed.number } : null;
  const base = thousandths(typed);
  return base === null ? null : { [field]: base };
}
