// Tick two: fertiliser and food of one tank, in one tap when all goes by plan.

import { bottleRow, wrongBottle } from "./bottle.js";
import { button, h } from "./dom.js";
import { back, sentenceField } from "./fields.js";
import * as bottle from "./kinds/bottle.js";
import * as dosing from "./kinds/dose.js";
import * as feeding from "./kinds/feed.js";
import * as skipping from "./kinds/skip.js";
import { pip, vessel } from "./marks.js";
import { pad, readNumber, stepper, thousandths } from "./pad.js";
import { capital, listed } from "./words.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Stop} Stop */
/** @typedef {import("./pack.js").Dose} Dose */
/** @typedef {import("./pack.js").Feed} Feed */

const LESS = ["The manager said so", "Part of it was given before", "The pump draws badly, the bottle is not empty"];
const AGAIN = ["The plan has two today", "Part of it was spilt", "The earlier one was another tank's"];

/**
 * What is about to be given, and what stands in the way.
 * @param {App} app
 * @param {Stop} stop
 */
export function giving(app, stop) {
  const state = app.round.stateOf(stop);
  const draft = app.draftOf(stop);
  const open = (/** @type {Dose | Feed} */ line) => line.given_today.length === 0 || Boolean(draft.again[line.task]);
  return {
    doses: state.dosesLeft.filter(open).map((dose) => ({ dose, amount: doseAmount(app, stop, dose) })),
    feeds: state.feedsLeft.filter(open).map((feed) => ({ feed, ...feedAmount(app, stop, feed) })),
    before: [...state.dosesLeft, ...state.feedsLeft].filter((line) => !open(line)),
  };
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {Dose} dose
 * @returns {import("./kinds/dose.js").Amount}
 */
function doseAmount(app, stop, dose) {
  const draft = app.draftOf(stop);
  if (dose.tool === "pump" && dose.presses !== null) {
    const presses = draft.presses[dose.rest_of ?? dose.task] ?? 0;
    return presses > 0 ? dosing.pressed(dose, presses) : dosing.planned(dose);
  }
  const read = readNumber(draft.typed[dose.task] ?? "");
  const ul = "typed" in read ? thousandths(read.typed) : null;
  return ul && "typed" in read ? dosing.measured(ul, read.typed.text) : dosing.planned(dose);
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {Feed} feed
 */
function feedAmount(app, stop, feed) {
  const read = readNumber(app.draftOf(stop).typed[feed.task] ?? "");
  const mg = "typed" in read ? thousandths(read.typed) : null;
  return mg !== null && "typed" in read ? { mg, text: read.typed.text } : { mg: feed.planned_mg, text: null };
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {(drafts: import("../outbox/envelope.js").Draft[], spoken: string, first?: () => unknown) => HTMLElement} tickFor  makes the tick; first: what has to be answered before
 * @param {(entry: import("./pack.js").Entry) => HTMLElement} skipped  makes the line of what is not given
 * @returns {(HTMLElement | null | undefined)[]}
 */
export function giveSection(app, stop, tickFor, skipped) {
  const { doses, feeds, before } = giving(app, stop);
  const state = app.round.stateOf(stop);
  const counters = state.lookDone ? doses.flatMap(({ dose, amount }) => [counter(app, stop, dose, amount), dose.bottle ? bottleRow(app, dose) : null]) : [];
  const drafts = giveDrafts(app, stop);
  const fewer = unanswered(app, stop);
  const said = gaveWords(app, doses, feeds);
  const asked = doses.find(({ dose, amount }) => dosing.asks(dose, amount) && !app.draftOf(stop).sure[sureKey(dose.task, amount.presses ?? amount.ul)]);
  const wrong = doses.map(({ dose }) => ({ dose, sentence: bottle.stops(dose, app.inHand[dose.product], stop.tank ?? "this tank", app.round.pack.round.business_date) })).find(({ sentence }) => sentence);
  const tick = drafts.length ? tickFor(drafts, said, fewer && (() => app.open({ name: "less", task: fewer.dose.task }))) : null;
  const foods = state.lookDone ? feeds.map(({ feed, mg }) => foodRow(app, feed, mg)) : [];
  const not = stop.tasks.map((task) => state.tasks.get(task.id)).filter((entry) => entry?.kind === "skip" && [...stop.doses, ...stop.feeds].some((line) => line.task === entry.task_id));
  const gave = doses.map(({ dose }) => firstBottle(app, dose));
  return [...not.map((entry) => entry && skipped(entry)), ...gave, ...before.map((line) => dosedBefore(app, stop, line)), ...counters, ...foods, wrong?.sentence ? wrongBottle(app, wrong.dose, wrong.sentence) : asked ? reallyThatMuch(app, stop, asked.dose, asked.amount) : tick];
}

/** @param {App} app @param {Stop} stop */
function giveDrafts(app, stop) {
  const { doses, feeds } = giving(app, stop);
  return [
    ...doses.map(({ dose, amount }) => dosing.draft(stop, dose, amount, againOf(app, stop, dose), app.inHand[dose.product], lessOf(app, stop, dose, amount))),
    ...feeds.map(({ feed, mg, text }) => feeding.draft(stop, feed, mg, text)),
  ];
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {Dose} dose
 * @param {import("./kinds/dose.js").Amount} amount
 * @returns {string | undefined} why these few presses; undefined while it was not asked
 */
function lessOf(app, stop, dose, amount) {
  return app.draftOf(stop).less?.[sureKey(dose.task, amount.presses ?? 0)];
}

/**
 * The first dose with fewer presses than planned of which nobody has said why.
 * @param {App} app
 * @param {Stop} stop
 */
function unanswered(app, stop) {
  return giving(app, stop).doses.find(({ dose, amount }) => dosing.isFewer(dose, amount) && lessOf(app, stop, dose, amount) === undefined);
}

/**
 * Fewer presses than planned: is the bottle empty, or is that all it gets?
 * @param {App} app
 * @param {Stop} stop
 * @param {string} task
 */
export function lessPanel(app, stop, task) {
  const found = giving(app, stop).doses.find(({ dose }) => dose.task === task);
  if (!found) return h("div", {}, back(app));
  const { dose, amount } = found;
  const because = (/** @type {string} */ why) => {
    const draft = app.draftOf(stop);
    draft.less = { ...draft.less, [sureKey(task, amount.presses ?? 0)]: why };
    app.keepDraft(stop);
    const next = unanswered(app, stop);
    if (next) return app.open({ name: "less", task: next.dose.task });
    const { doses, feeds } = giving(app, stop);
    return app.enter(stop, giveDrafts(app, stop), gaveWords(app, doses, feeds));
  };
  const bottleName = dose.bottle ? capital(dose.bottle.name) : "The bottle";
  return h(
    "div",
    { class: "opened" },
    h("h2", { class: "open-h", tabindex: -1, "data-key": "panel" }, `${dosing.says(dose, amount, app.words)} of ${productOf(app, dose)}. Why fewer?`),
    h("button", { class: "choice", type: "button", "data-key": "bottle empty", onclick: () => because("") }, h("b", {}, "The bottle is empty"), h("span", {}, `${bottleName} is finished with this; what is missing stays due, from the next bottle`)),
    h("h2", { class: "half-h" }, "Or that is all it gets; the bottle stays in use"),
    LESS.map((reason) => h("button", { class: "choice", type: "button", onclick: () => because(reason) }, h("b", {}, reason), h("span", {}, "the dose counts as done"))),
    sentenceField("Why it gets no more, in your words", "Keep: that is all", because),
    back(app),
  );
}

/**
 * The words of tick two.
 * @param {App} app
 * @param {Stop} stop
 */
export function giveWords(app, stop) {
  const { doses, feeds, before } = giving(app, stop);
  const short = doses.some(({ dose, amount }) => dosing.isFewer(dose, amount));
  const parts = doses.map(({ dose, amount }) => dosing.explains(dose, amount, productOf(app, dose), app.words));
  const only = feeds.map(({ feed }) => productOf(app, feed));
  const text = parts.length ? parts.join("; ") : capital(listed(only));
  const rest = doses.some(({ dose }) => dose.rest_of);
  const tail = before.length ? "" : rest ? ", the rest from the next bottle" : `. Not yet ${parts.length ? "dosed" : "fed"} today`;
  return { strong: `${gaveWords(app, doses, feeds)}${short ? ", fewer than planned" : ""}`, small: short ? `${capital(text)}. Then say why: bottle empty, or all it gets` : `${capital(text)}${tail}` };
}

/**
 * @param {App} app
 * @param {{dose: Dose, amount: import("./kinds/dose.js").Amount}[]} doses
 * @param {{mg: number}[]} feeds
 */
function gaveWords(app, doses, feeds) {
  return `Gave ${listed([...doses.map(({ dose, amount }) => dosing.says(dose, amount, app.words)), ...feeds.map(({ mg }) => app.words.grams(mg))])}`;
}

/**
 * @param {App} app
 * @param {Dose | Feed} line
 */
function productOf(app, line) {
  return app.round.pack.products[line.product]?.name ?? "product";
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {Dose} dose
 */
function againOf(app, stop, dose) {
  const reason = app.draftOf(stop).again[dose.task];
  return reason ? { earlier: dose.given_today.at(-1)?.action_id ?? null, reason } : null;
}

/**
 * @param {string} task
 * @param {number} amount
 */
function sureKey(task, amount) {
  return `${task} ${amount}`;
}

/**
 * Count along with the pump, or see what the measuring cup should hold.
 * @param {App} app
 * @param {Stop} stop
 * @param {Dose} dose
 * @param {import("./kinds/dose.js").Amount} amount
 */
function counter(app, stop, dose, amount) {
  const draft = app.draftOf(stop);
  const product = productOf(app, dose);
  if (dose.tool !== "pump" || dose.presses === null) {
    return h(
      "button",
      { class: "look", type: "button", "data-key": `cup ${dose.task}`, onclick: () => app.open({ name: "amount", task: dose.task }) },
      h("span", {}, h("b", {}, `${app.words.ml(amount.ul)} ${product}`), h("small", {}, "in the measuring cup")),
      h("span", { class: "go" }, "Another amount"),
    );
  }
  const plan = dose.presses;
  const counted = draft.presses[dose.rest_of ?? dose.task] ?? 0;
  const to = (/** @type {number} */ n) => {
    draft.presses[dose.rest_of ?? dose.task] = Math.max(0, Math.min(5 * plan, n));
    app.keepDraft(stop);
    app.draw();
  };
  return h(
    "div",
    { class: "press", role: "group", "aria-label": `Presses of ${product}` },
    button("−", () => to(counted - 1), { class: "btn btn-wet", "aria-label": "One press less", "data-key": `less ${dose.task}`, disabled: counted === 0 }),
    h(
      "div",
      {},
      h("div", { class: "press-val" }, h("b", {}, `${counted} of ${plan}`), h("span", {}, `${plan === 1 ? "press" : "presses"}, ${app.words.ml(counted * (dose.per_press_ul ?? 0))} of ${app.words.ml(plan * (dose.per_press_ul ?? 0))} ${product}`)),
      h("div", { class: "pips", "aria-hidden": "true" }, Array.from({ length: Math.max(plan, counted) }, (_, i) => pip(i < counted))),
    ),
    button("+", () => to(counted + 1), { class: "btn btn-wet", "aria-label": "One press more", "data-key": `more ${dose.task}` }),
  );
}

/**
 * What the bottle gave that ran empty with it.
 * @param {App} app
 * @param {Dose} dose
 */
function firstBottle(app, dose) {
  if (!dose.gave) return null;
  const { presses, ul, at } = dose.gave;
  const amount = app.words.ml(ul);
  return h("div", { class: "row", "data-key": "first bottle" }, vessel("half"), h("p", {}, h("b", {}, presses === null ? `Gave ${amount}` : `Gave ${presses} ${presses === 1 ? "press" : "presses"}, ${amount}`), `, then the bottle was empty. The rest is still to give`), h("span", { class: "hint" }, app.words.time(at)));
}

/**
 * @param {App} app
 * @param {Feed} feed
 * @param {number} mg
 */
function foodRow(app, feed, mg) {
  return h(
    "button",
    { class: "look", type: "button", "data-key": `food ${feed.task}`, onclick: () => app.open({ name: "amount", task: feed.task }) },
    h("span", {}, h("b", {}, `${app.words.grams(mg)} ${productOf(app, feed)}`)),
    h("span", { class: "go" }, "Another amount"),
  );
}

/**
 * Somebody gave it already: a sentence and two buttons.
 * @param {App} app
 * @param {Stop} stop
 * @param {Dose | Feed} line
 */
function dosedBefore(app, stop, line) {
  const { words } = app;
  const given = line.given_today[line.given_today.length - 1];
  const isDose = "planned_ul" in line;
  const amount = isDose ? words.ml(given.amount) : words.grams(given.amount);
  const task = stop.tasks.find((t) => t.id === line.task);
  const notGiven = () =>
    task &&
    app.enter(
      stop,
      [skipping.draft(stop, task, { code: "already_done", label: "", effect: "", line: "linked", asks: "entry" }, { text: given.action_id ? `${given.by}, ${words.time(given.at)}` : "", until: null, links: given.action_id, claim: given.action_id ? null : { person: null, name: given.by, at: app.round.hourOf(given.at) } })],
      "Not given",
    );
  return h(
    "div",
    { class: "before", role: "group", "aria-label": `${productOf(app, line)} was given today` },
    h("p", {}, h("b", {}, `${given.by} gave ${amount} ${productOf(app, line)} today at ${words.time(given.at)}.`)),
    h("button", { class: "choice", type: "button", "data-key": "not again", onclick: notGiven }, h("b", {}, "Do not give"), h("span", {}, `counts as done by ${given.by}`)),
    h("button", { class: "choice", type: "button", "data-key": "again", onclick: () => app.open({ name: "again", task: line.task }) }, h("b", {}, "Give again, with a reason"), h("span", {}, "both are counted, the manager is told")),
  );
}

/**
 * Why a second time?
 * @param {App} app
 * @param {Stop} stop
 * @param {string} task
 */
export function againPanel(app, stop, task) {
  const because = (/** @type {string} */ reason) => {
    app.draftOf(stop).again[task] = reason;
    app.keepDraft(stop);
    app.open(null);
  };
  return h("div", { class: "opened" }, h("h2", { class: "open-h", tabindex: -1, "data-key": "panel" }, "Give a second time. Why?"), AGAIN.map((reason) => h("button", { class: "choice", type: "button", onclick: () => because(reason) }, h("b", {}, reason))), sentenceField("In your words", "Give with this reason", because), back(app));
}

/**
 * Much more than planned: asked before it is kept.
 * @param {App} app
 * @param {Stop} stop
 * @param {Dose} dose
 * @param {import("./kinds/dose.js").Amount} amount
 */
function reallyThatMuch(app, stop, dose, amount) {
  const asks = dosing.asks(dose, amount);
  const draft = app.draftOf(stop);
  const given = dosing.says(dose, amount, app.words);
  const plan = dosing.says(dose, dosing.planned(dose), app.words);
  const toPlan = () => {
    delete draft.presses[dose.rest_of ?? dose.task];
    delete draft.typed[dose.task];
    app.keepDraft(stop);
    app.draw();
  };
  if (asks === "refuse") return h("div", { class: "before" }, h("p", { class: "field-err", role: "alert" }, `${given} is more than five times the plan of ${plan}. Not kept: at most five times can be entered. If it is true, leave the tank and tell the manager.`), button(`Back to ${plan}`, toPlan, { class: "btn btn-wet" }));
  const sure = () => {
    draft.sure[sureKey(dose.task, amount.presses ?? amount.ul)] = true;
    app.keepDraft(stop);
    app.draw();
  };
  return h(
    "div",
    { class: "before" },
    h("p", { role: "alert" }, h("b", {}, asks === "double" ? `${given}: twice the plan of ${plan} or more. ` : `${given}, where the plan has ${plan}. Really? `), asks === "double" && "If it went in: write down product and mL, do not try to balance it, watch the animals. The manager decides which days rest."),
    h("button", { class: "choice", type: "button", onclick: sure }, h("b", {}, `Yes, ${given} went in`), h("span", {}, asks === "double" ? "it is kept and raises an alert" : "it is kept as it is")),
    h("button", { class: "choice", type: "button", onclick: toPlan }, h("b", {}, `No, ${plan}`), h("span", {}, "as planned")),
  );
}

/**
 * Another amount of the cup or of food, with the pad.
 * @param {App} app
 * @param {Stop} stop
 * @param {string} task
 */
export function amountPanel(app, stop, task) {
  const dose = stop.doses.find((d) => d.task === task);
  const feed = stop.feeds.find((f) => f.task === task);
  const line = dose ?? feed;
  if (!line) return h("div", {}, back(app));
  const draft = app.draftOf(stop);
  const mark = app.round.pack.showroom.decimal_mark;
  const [unit, plan, step] = dose ? ["mL", dose.planned_ul, 1] : ["g", feed?.planned_mg ?? 0, 0.01];
  const limit = `${dose ? app.words.ml(5 * plan) : app.words.grams(5 * plan)}`;
  const error = h("p", { class: "field-err", role: "alert", hidden: true });
  const { element, input } = stepper({ label: `${capital(productOf(app, line))} in ${unit}`, unit, step, from: plan / 1000, value: draft.typed[task] ?? "", mark, onInput: () => (error.hidden = true), key: "panel" });
  let sure = false;
  const keep = () => {
    const read = readNumber(input.value);
    const thousand = "typed" in read ? thousandths(read.typed) : null;
    const sentence = "sentence" in read ? read.sentence : thousand === null ? `“${input.value}” cannot be given. Write 0.001 to ${limit}, at most three decimals.` : thousand === 0 ? "Nothing given is a skip: use “Skip, with a reason”." : thousand > 5 * plan ? `${input.value} ${unit} is more than five times the plan. At most ${limit}; type it again.` : feed && !sure && feeding.asks(feed, thousand) === "ask" ? `${input.value} ${unit} is more than twice the plan of ${app.words.grams(plan)}. Press “Use it” again if it is true.` : null;
    if (sentence) {
      sure = Boolean(feed && thousand !== null && feeding.asks(feed, thousand) === "ask");
      error.hidden = false;
      error.textContent = sentence;
      return input.focus();
    }
    draft.typed[task] = input.value;
    app.keepDraft(stop);
    return app.open(null);
  };
  return h("div", { class: "opened" }, h("h2", { class: "open-h" }, `${capital(productOf(app, line))}: how much went in?`), h("p", { class: "hint" }, `Plan ${dose ? app.words.ml(plan) : app.words.grams(plan)}. Comma or point.`), h("div", { class: "field field-wet" }, element), pad(input, mark), error, button("Use it", keep, { class: "btn btn-act btn-wet wide" }), back(app));
}

/**
 * What was given at this stop, once it is entered.
 * @param {App} app
 * @param {Stop} stop
 * @returns {{given: string, detail: string, at: string, entries: import("./pack.js").Entry[]} | null}
 */
export function givenWords(app, stop) {
  const state = app.round.stateOf(stop);
  const lines = [...stop.doses, ...stop.feeds].map((line) => state.tasks.get(line.task)).filter((entry) => entry !== undefined);
  if (!lines.length) return null;
  const gave = lines.filter((entry) => entry.kind === "dose" || entry.kind === "feed");
  const parts = gave.map(({ kind, body }) => (kind === "feed" ? app.words.grams(body.given_mg) : body.presses === null ? app.words.ml(body.given_ul) : `${body.presses} ${body.presses === 1 ? "press" : "presses"}`));
  const not = lines.filter((entry) => entry.kind === "skip").map((entry) => `${stop.tasks.find((t) => t.id === entry.task_id)?.name ?? "task"} not given: ${app.round.pack.reasons.find((r) => r.code === entry.body.reason)?.label.toLowerCase() ?? entry.body.reason}`);
  const ml = gave.filter((entry) => entry.kind === "dose").map((entry) => app.words.ml(entry.body.given_ul));
  return { given: parts.length ? `Gave ${listed(parts)}` : capital(listed(not)), detail: [listed(ml), parts.length ? listed(not) : ""].filter(Boolean).join(". "), at: lines[lines.length - 1].done_at, entries: lines };
}
