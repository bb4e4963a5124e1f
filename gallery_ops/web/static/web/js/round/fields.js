// One number to be read: typed, checked against its range, asked about, kept.

import { button, h } from "./dom.js";
import * as check from "./kinds/check.js";
import { pad, readNumber, stepper } from "./pad.js";
import { hint } from "./words.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Stop} Stop */

const WHY_NOT = ["Instrument is missing or broken", "Not reachable now", "Visitors stand in front"];

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {string} parameter
 * @param {{look: string | null, last: import("./pack.js").Last | null, keys: boolean | "asked", task?: string | null}} how  keys: with the pad; asked: once the field is tapped
 * @returns {HTMLElement}
 */
export function numberField(app, stop, parameter, { look, last, keys, task = null }) {
  const { words } = app;
  const mark = app.round.pack.showroom.decimal_mark;
  const about = app.round.pack.parameters[parameter];
  const unit = about.unit ?? "";
  const draft = app.draftOf(stop);
  const key = `value ${parameter}`;
  const answer = h("div", { class: "answer", "aria-live": "polite" });
  const keep = button("", () => ask(), { class: "btn btn-act btn-wet wide" });
  const label = unit ? `${about.label} in ${unit}` : about.label;
  const { element, input } = stepper({
    label,
    unit: unit || about.label,
    step: about.step ?? 1,
    from: last?.value ?? null,
    value: draft.typed[key] ?? "",
    mark,
    described: `hint-${parameter}`,
    key,
    onInput: (text) => {
      draft.typed[key] = text;
      app.keepDraft(stop);
      answer.replaceChildren();
      show();
    },
    onTap: keys === true ? undefined : () => (digits ? (digits.hidden = false) : app.open({ name: "reading", parameter })),
  });
  const digits = keys ? pad(input, mark) : null;
  if (digits) digits.hidden = keys === "asked";
  const show = () => {
    keep.textContent = `Keep ${input.value} ${unit}`.trim();
    keep.hidden = !input.value;
  };
  const ask = () => {
    const read = readNumber(input.value);
    if ("sentence" in read) return wrong(read.sentence);
    const { typed } = read;
    const judged = typed.limit ? null : check.judgeOf(app.round.pack, stop, parameter, last?.value ?? null)(typed.number);
    if (judged?.refuse) return wrong(check.rangeSentence(app.round.pack, parameter, typed, judged, words.number));
    if (judged?.ask) return really(typed, judged);
    return enter(typed, judged, false);
  };
  const wrong = (/** @type {string} */ sentence) => {
    input.setAttribute("aria-invalid", "true");
    answer.replaceChildren(h("p", { class: "field-err", role: "alert" }, sentence));
    input.focus();
  };
  const really = (/** @type {import("./pad.js").Typed} */ typed, /** @type {import("./ranges.js").Judgement} */ judged) => {
    const other = judged.other === null ? null : words.number(judged.other);
    answer.replaceChildren(
      h("p", { role: "alert" }, h("b", {}, check.rangeSentence(app.round.pack, parameter, typed, judged, words.number))),
      h(
        "div",
        { class: "acts" },
        other && button(`No, ${other} ${unit}`, () => {
          input.value = other;
          input.dispatchEvent(new Event("input"));
          keep.focus();
        }, { class: "btn btn-wet" }),
        button(`Yes, ${typed.text} ${unit}, measured twice`, () => enter(typed, judged, true), { class: "btn btn-wet" }),
        button("Type it again", () => {
          answer.replaceChildren();
          input.select();
          input.focus();
        }, { class: "btn btn-wet" }),
      ),
    );
  };
  const enter = (/** @type {import("./pad.js").Typed} */ typed, /** @type {import("./ranges.js").Judgement | null} */ judged, /** @type {boolean} */ asked) => {
    delete draft.typed[key];
    if (judged?.alarm) {
      const because = check.rangeSentence(app.round.pack, parameter, typed, { ...judged, refuse: null, ask: null }, words.number);
      app.message = { stop: stop.id, text: `${about.label} ${typed.text} ${unit} is kept: ${because}. It raises an alert.`, card: null };
    }
    return app.enter(stop, check.withTask(stop, app.round.stateOf(stop).looksLeft, look, check.reading(stop, parameter, typed, { unit: unit || null, look, asked, task })), `${about.label} ${typed.text} ${unit}`);
  };
  show();
  return h(
    "div",
    { class: "field field-wet" },
    element,
    h("p", { class: "hint", id: `hint-${parameter}` }, `${label}. ${last ? `Last ${hint(last, words, app.round.now())}. ${typeof last.value === "number" ? "− and + begin there. " : ""}` : ""}Comma or point. `, keys !== "asked" && button("Could not measure", () => app.open({ name: "unable", check: look ?? parameter, look }), { class: "look-go" })),
    digits,
    answer,
    keep,
  );
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {string} what  id of a look or a parameter
 * @param {string | null} [look]  the look that is answered with it
 */
export function unablePanel(app, stop, what, look = null) {
  const label = app.round.pack.parameters[what]?.label ?? app.round.pack.looks[what]?.label ?? what;
  const because = (/** @type {string} */ reason) => app.enter(stop, check.withTask(stop, app.round.stateOf(stop).looksLeft, look, check.unable(stop, what, reason)), `${label} could not be measured`);
  return h("div", { class: "opened" }, h("h2", { class: "open-h", tabindex: -1, "data-key": "panel" }, `${label} could not be measured. Why?`), WHY_NOT.map((reason) => h("button", { class: "choice", type: "button", onclick: () => because(reason) }, h("b", {}, reason))), sentenceField("In your words", "Keep this reason", because), back(app));
}

/**
 * A few words and a button.
 * @param {string} label
 * @param {string} does
 * @param {(text: string) => unknown} keep
 */
export function sentenceField(label, does, keep) {
  const id = `words-${label.replace(/\W+/g, "-").toLowerCase()}`;
  const area = /** @type {HTMLTextAreaElement} */ (h("textarea", { id, rows: 2, maxlength: 500 }));
  const error = h("p", { class: "field-err", role: "alert", hidden: true }, "Write a few words first.");
  return h(
    "div",
    { class: "field" },
    h("label", { for: id }, label),
    area,
    error,
    button(does, () => {
      const text = area.value.trim();
      error.hidden = Boolean(text);
      if (text) keep(text);
      else area.focus();
    }, { class: "btn btn-wet" }),
  );
}

/** @param {App} app */
export function back(app) {
  return h("div", { class: "acts" }, button("Leave it as it was", () => app.open(null), { class: "btn btn-wet" }));
}
