// The looks of a tank, in the order of the eyes. A row opens only for what is not as it should be.

import { button, h } from "./dom.js";
import { back, numberField, sentenceField } from "./fields.js";
import * as check from "./kinds/check.js";
import { drop, vessel } from "./marks.js";
import { OWN_TOOLS, looksOf, taskOf } from "./pack.js";
import { readNumber, stepper } from "./pad.js";
import { photoField } from "./photos.js";
import { hint } from "./words.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Stop} Stop */
/** @typedef {import("./pack.js").Look} Look */

/**
 * @param {App} app
 * @param {Stop} stop
 */
export function lookRows(app, stop) {
  const state = app.round.stateOf(stop);
  const next = state.looks.size ? state.looksLeft[0]?.look : null;
  return h(
    "ul",
    { class: "looks" },
    looksOf(stop).map((look) => {
      const answered = state.looks.get(look.look);
      const about = aboutLook(app, look.look);
      const parameters = about.fields.map((field) => app.round.pack.parameters[field]);
      const reads = parameters.length === 1 && parameters[0]?.kind === "number";
      const said = answered ? answeredWords(app, stop, answered.entry, look.look) : before(app, look);
      return h(
        "li",
        {},
        h(
          "button",
          { class: "look", type: "button", "data-key": `look ${look.look}`, "data-look": true, "data-next": look.look === next || null, onclick: () => app.open({ name: "look", look: look.look }) },
          h("span", {}, answered && vessel("done"), answered && " ", h("b", {}, about.label), h("small", {}, said)),
          h("span", { class: "go" }, answered ? "Again" : reads ? "Read it" : "Different"),
        ),
      );
    }),
  );
}

/**
 * What is right now, and what it was: a hint, never sent.
 * @param {App} app
 * @param {Look} look
 */
function before(app, look) {
  const now = app.round.now();
  const { last } = look;
  const expect = rightNow(app, look);
  if (!expect) return hint(last, app.words, now);
  return last ? `${expect}. ${app.words.when(last.at, now)}: ${last.text}` : expect;
}

/** @param {App} app @param {Look} look */
function rightNow(app, look) {
  return isValid(look, app.round.now()) ? (look.once_valid ?? look.expect) : look.expect;
}

/**
 * @param {Look} look
 * @param {Date} now
 * @returns {boolean} what it shows counts by now
 */
function isValid(look, now) {
  return !look.valid_from || now.getTime() >= Date.parse(look.valid_from);
}

/**
 * @param {App} app
 * @param {string} look
 * @returns {{label: string, fields: string[]}}
 */
function aboutLook(app, look) {
  return app.round.pack.looks[look] ?? { label: look === OWN_TOOLS ? "Own tools" : look, fields: ["words"] };
}

/**
 * What was entered for a look.
 * @param {App} app
 * @param {Stop} stop
 * @param {import("./pack.js").Entry} entry
 * @param {string} look
 * @returns {string}
 */
export function answeredWords(app, stop, entry, look) {
  const { body } = entry;
  const at = `${app.words.time(new Date(Date.parse(entry.done_at)))}${entry.entered_late ? ", entered late" : ""}`;
  if (entry.kind === "animal") return `${body.count ?? "some"} ${stop.batches.find((b) => b.id === body.batch)?.name ?? "of unsure species"} ${body.what}, ${at}`;
  if (entry.kind === "unable") return `could not be measured: ${body.reason}. ${at}`;
  if (body.value === "all_normal") return `as it should be, ${at}`;
  if (body.value === "counted") {
    const counts = body.counts.map((/** @type {{batch: string, count: number}} */ c) => `${c.count} ${stop.batches.find((b) => b.id === c.batch)?.name ?? "animals"}`);
    return `${counts.join(", ")}. ${at}`;
  }
  if (body.value === "different") return `${body.text}. ${at}`;
  const about = app.round.pack.parameters[body.check];
  const option = about?.options?.find((o) => o.code === body.value);
  const label = body.check === look || !about ? "" : `${about.label}: `;
  return `${label}${option?.label ?? app.words.number(body.value)}${body.unit ? ` ${body.unit}` : ""}, ${at}`;
}

/**
 * Draft of tick one: what is left was as it should be.
 * @param {App} app
 * @param {Stop} stop
 */
export function lookedDrafts(app, stop) {
  const left = app.round.stateOf(stop).looksLeft.map((look) => look.look);
  return [check.allNormal(stop, left, taskOf(stop, "look")?.id ?? null)];
}

/**
 * The opened row.
 * @param {App} app
 * @param {Stop} stop
 * @param {string} id
 */
export function lookPanel(app, stop, id) {
  const look = looksOf(stop).find((l) => l.look === id) ?? { look: id, expect: null, last: null };
  const about = aboutLook(app, id);
  const was = readsOne(app, about.fields) ? rightNow(app, look) : before(app, look); // its field says what it was last
  return h(
    "div",
    { class: "opened" },
    h("h2", { class: "open-h", tabindex: -1, "data-key": "panel" }, about.label),
    was && h("p", { class: "hint" }, was),
    about.fields.map((field) => openField(app, stop, look, field)),
    h("div", { class: "open-foot" }, back(app), photoField(app, stop, id, "Add a photo"), !readsOne(app, about.fields) && button("Could not see or measure it", () => app.open({ name: "unable", check: id, look: id }), { class: "btn btn-wet", "data-key": "unable" })),
  );
}

/**
 * One number, beside which stands a button of its own for what could not be measured.
 * @param {App} app
 * @param {string[]} fields
 */
function readsOne(app, fields) {
  return fields.length === 1 && app.round.pack.parameters[fields[0]]?.kind === "number";
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {Look} look
 * @param {string} field
 */
function openField(app, stop, look, field) {
  const enter = (/** @type {import("../outbox/envelope.js").Draft} */ draft, /** @type {string} */ spoken) => app.enter(stop, check.withTask(stop, app.round.stateOf(stop).looksLeft, look.look, draft), spoken);
  const about = app.round.pack.parameters[field];
  if (field === "head_count") return headCount(app, stop, look, enter);
  if (!about) return sentenceField("What is different?", "Keep it", (text) => enter(check.inWords(stop, look.look, text), `${aboutLook(app, look.look).label}: ${text}`));
  const alone = readsOne(app, aboutLook(app, look.look).fields);
  if (about.kind === "number") return [heading(app, look, about.label), numberField(app, stop, field, { look: look.look, last: alone ? look.last : null, keys: alone || "asked" })];
  const early = !isValid(look, app.round.now());
  const judges = (/** @type {import("./pack.js").Option} */ option) => check.judgeWord(look, option, app.round.now().getTime()) ?? option.alarm === true;
  return [
    heading(app, look, about.label),
    h(
      "div",
      { class: "choices" },
      (about.options ?? []).map((option) => {
        const alarm = judges(option);
        const effect = alarm ? (option.first_minute ? "raises an alert, offers First minute" : "raises an alert") : early ? `kept; tells nothing before ${app.words.time(look.valid_from ?? "")}` : null;
        return h(
          "button",
          {
            class: "choice",
            type: "button",
            onclick: () => {
              if (alarm) app.message = { stop: stop.id, text: `${about.label}: ${option.label}. It is kept and raises an alert.`, card: option.first_minute ?? null };
              return enter(check.chosen(stop, field, option, look.look), `${about.label}: ${option.label}`);
            },
          },
          h("b", {}, option.fill === undefined ? null : drop(option.fill), option.fill === undefined ? null : " ", option.label),
          effect && h("span", {}, effect),
        );
      }),
    ),
  ];
}

/**
 * Which of several fields this is; a look with one field needs no second name.
 * @param {App} app
 * @param {Look} look
 * @param {string} label
 */
function heading(app, look, label) {
  return aboutLook(app, look.look).fields.length > 1 && h("h3", { class: "half-h" }, label);
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {Look} look
 * @param {(draft: import("../outbox/envelope.js").Draft, spoken: string) => unknown} enter
 */
function headCount(app, stop, look, enter) {
  /** @type {Map<string, string>} */
  const typed = new Map();
  const answer = h("p", { class: "field-err", role: "alert", hidden: true });
  const keep = (/** @type {boolean} */ asked) => {
    const counts = [];
    for (const [batch, text] of typed) {
      const known = stop.batches.find((b) => b.id === batch);
      if (!text.trim()) continue;
      const read = readNumber(text);
      if ("sentence" in read || !/^\d{1,5}$/.test(read.typed.value)) return say(`${known?.name}: “${text}” is not a count. Write a whole number from 0 to 99,999.`);
      counts.push({ batch, count: read.typed.number });
      if (!asked && known?.count && read.typed.number > 2 * known.count) return say(`${known.name}: ${read.typed.number}, where ${known.count} were. Press “Keep the count” again if you counted twice.`, true);
    }
    if (!counts.length) return say("No count is typed yet. Count one kind at least, or go back.");
    return enter(check.counted(stop, look.look, counts, asked), "Counted");
  };
  let again = false;
  const say = (/** @type {string} */ sentence, ask = false) => {
    again = ask;
    answer.hidden = false;
    answer.textContent = sentence;
  };
  return h(
    "div",
    { class: "heads field field-wet" },
    stop.batches.map((batch) => [
      h("p", { class: "half-h" }, `${batch.name}${batch.count === null ? "" : `, ${batch.count} were there`}`),
      stepper({ label: `Count of ${batch.name}`, unit: "heads", step: 1, from: batch.count, value: "", mark: ".", onInput: (text) => typed.set(batch.id, text) }).element,
    ]),
    !stop.batches.length && h("p", { class: "note" }, "No animals are entered for this tank."),
    answer,
    stop.batches.length > 0 && button("Keep the count", () => keep(again), { class: "btn btn-act btn-wet wide" }),
    h("p", { class: "note" }, "Found dead, or one is missing? ", button("Something is wrong", () => app.open({ name: "trouble" }), { class: "look-go" })),
    sentenceField("Behaviour, breathing, at the surface", "Keep it in words", (text) => enter(check.inWords(stop, look.look, text), `Animals: ${text}`)),
  );
}
