// Skip, with a reason: what, why, and what follows, before it is kept.

import { button, h } from "./dom.js";
import { frontView } from "./drawing.js";
import { NO_ANSWER, able, draft, hourOfDay, missing, needs, nextOn, notEmpty, result } from "./kinds/skip.js";
import { effectLine, vessel } from "./marks.js";
import { topLine } from "./top_line.js";
import { capital, listed } from "./words.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Stop} Stop */
/** @typedef {import("./pack.js").Reason} Reason */
/** @typedef {{tasks: Set<string>, of: import("./pack.js").Task[], reason: Reason | null, answer: import("./kinds/skip.js").Answer}} Chosen */

const HARM = { A: "same day", B: "2 to 3 days", C: "a week", D: "cosmetic" };

/**
 * @param {App} app
 * @param {Stop} stop
 * @returns {Node[]}
 */
export function skipScreen(app, stop) {
  const state = app.round.stateOf(stop);
  const open = stop.tasks.filter((task) => !state.tasks.has(task.id) && !(task.code === "look" && state.lookDone));
  const chosen = chosenIn(app, open);
  const head = h("div", { class: "skip-head" });
  const rows = h("ul", { class: "skips" });
  const foot = h("div", { class: "stop-foot" });
  const error = h("p", { class: "field-err", role: "alert", hidden: true });
  const read = { day: app.words.day, person: (/** @type {string} */ id) => app.round.personName(id) };

  const show = (/** @type {string | null} */ key) => {
    const tasks = open.filter((task) => chosen.tasks.has(task.id));
    chosen.of = tasks;
    head.replaceChildren(...headOf(app, stop, open, tasks, (task) => {
      if (chosen.tasks.has(task)) chosen.tasks.delete(task);
      else chosen.tasks.add(task);
      show(`what ${task}`);
    }));
    rows.replaceChildren(...app.round.pack.reasons.map((reason) => rowOf(app, stop, reason, chosen, (change) => {
      Object.assign(chosen, change);
      show(change.reason ? `reason ${reason.code}` : null);
    }, showFoot)));
    showFoot();
    if (key) /** @type {HTMLElement | null} */ (document.querySelector(`[data-key="${CSS.escape(key)}"]`))?.focus();
  };
  const showFoot = () => {
    error.hidden = true;
    const { reason } = chosen;
    const ready = reason && !missing(reason, chosen.answer) ? (notEmpty(reason, stop) ? "it waits for a person" : result(reason, chosen.answer, read, chosen.of)) : null;
    foot.replaceChildren(button(ready && chosen.tasks.size ? `Skip it: ${ready}` : "Skip it", keep, { class: "btn btn-act", "data-key": "skip it" }), button("Back, skip nothing", () => app.open(null), { "data-key": "back" }));
  };
  const keep = async () => {
    const { reason, answer } = chosen;
    const sentence = !chosen.tasks.size ? "Skip what? Choose a task above." : !reason ? "Why? Choose one of the twelve reasons." : missing(reason, answer);
    if (sentence || !reason) {
      error.hidden = false;
      error.textContent = sentence;
      return;
    }
    const tasks = open.filter((task) => chosen.tasks.has(task.id));
    const done = await app.enter(stop, tasks.map((task) => draft(stop, task, reason, answer)), `${capital(listed(tasks.map((t) => t.name)))} skipped`);
    if (done && reason.line === "first_minute") app.firstMinute(reason.code === "no_supply" ? "power" : null);
  };
  show(null);
  return [topLine(app, `stop ${app.round.pack.stops.indexOf(stop) + 1} of ${app.round.pack.stops.length}`), head, rows, error, foot];
}

/**
 * What is chosen lies with the panel: an emergency heard of meanwhile draws the screen anew, and nothing is lost.
 * @param {App} app
 * @param {import("./pack.js").Task[]} open
 * @returns {Chosen}
 */
function chosenIn(app, open) {
  const fresh = { tasks: new Set(open.length === 1 ? [open[0].id] : []), of: [], reason: null, answer: NO_ANSWER };
  if (app.panel?.name !== "skip") return fresh;
  app.panel.chosen ??= fresh;
  return app.panel.chosen;
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {import("./pack.js").Task[]} open
 * @param {import("./pack.js").Task[]} tasks
 * @param {(task: string) => void} toggle
 */
function headOf(app, stop, open, tasks, toggle) {
  const tank = app.round.tankOf(stop);
  const what = tasks.length ? `Skip ${listed(tasks.map((t) => t.name))}. Why?` : "Skip what?";
  const worst = tasks.map((t) => t.harm).sort()[0];
  const last = tasks.map((t) => t.skipped_last).find(Boolean);
  const third = tasks.some((t) => (t.skipped_last?.in_a_row ?? 0) >= 2);
  return [
    tank && frontView(tank, { width: 137, height: 69, "aria-hidden": "true", role: null }),
    h(
      "div",
      {},
      h("p", { class: "label-code" }, `${app.round.codeOf(stop)} `, h("span", { class: "title" }, tank?.title ?? "")),
      h("h1", { tabindex: -1, "data-key": "title" }, what),
      h("p", { class: "note" }, worst ? h("b", {}, `Without it: class ${worst}, ${HARM[worst]}. `) : "Nothing is chosen yet. ", last ? `Skipped last on ${app.words.day(last.on)}, ${last.reason}. ` : "", third ? "Third time in a row: the manager will be told." : ""),
      open.length > 1 && h("div", { class: "skip-what", role: "group", "aria-label": "Skip what" }, open.map((task) => button(capital(task.name), () => toggle(task.id), { class: tasks.includes(task) ? "btn btn-wet btn-act" : "btn btn-wet", "aria-pressed": String(tasks.includes(task)), "data-key": `what ${task.id}` }))),
    ),
  ].filter((child) => child !== null);
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {Reason} reason
 * @param {{of: import("./pack.js").Task[], reason: Reason | null, answer: import("./kinds/skip.js").Answer}} chosen
 * @param {(change: {reason?: Reason, answer?: import("./kinds/skip.js").Answer}) => void} change
 * @param {() => void} typed
 */
function rowOf(app, stop, reason, chosen, change, typed) {
  const on = chosen.reason?.code === reason.code;
  const doubt = notEmpty(reason, stop);
  return h(
    "li",
    { class: on ? "on" : null },
    h("button", { class: "skiprow", type: "button", "aria-pressed": String(on), "data-key": `reason ${reason.code}`, "data-look": true, onclick: () => change({ reason, answer: NO_ANSWER }) }, vessel(on ? "done" : "to_do"), h("span", {}, h("b", {}, reason.label), h("small", {}, reason.effect)), effectLine(reason.line)),
    on && reason.asks && opened(app, stop, reason, chosen, change, typed),
    on && doubt && h("p", { class: "skip-more note", role: "status" }, doubt),
  );
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {Reason} reason
 * @param {{of: import("./pack.js").Task[], answer: import("./kinds/skip.js").Answer}} chosen
 * @param {(change: {answer: import("./kinds/skip.js").Answer}) => void} change
 * @param {() => void} typed
 */
function opened(app, stop, reason, chosen, change, typed) {
  const { answer } = chosen;
  const pick = (/** @type {string} */ text, /** @type {Partial<import("./kinds/skip.js").Answer>} */ part, /** @type {boolean} */ is) => button(text, () => change({ answer: { ...answer, ...part } }), { class: is ? "btn btn-wet btn-act" : "btn btn-wet", "aria-pressed": String(is) });
  const more = (/** @type {string} */ label, /** @type {(import("./dom.js").Child)[]} */ kids) => h("div", { class: "skip-more", role: "group", "aria-label": label }, h("span", { class: "note" }, label), kids);
  const text = (/** @type {string} */ label) => {
    const input = /** @type {HTMLInputElement} */ (h("input", { type: "text", maxlength: 500, "aria-label": label, value: answer.text, oninput: () => { chosen.answer = { ...chosen.answer, text: input.value }; typed(); } }));
    return h("div", { class: "skip-more field" }, h("span", { class: "note" }, label), input);
  };
  switch (reason.asks) {
    case "date":
      return more("Rest until", daysAfter(app, 7).map((date) => pick(app.words.shortDay(date), { until: date }, answer.until === date)));
    case "hour":
      return more("Rest until", hoursAfter(app).map((until) => pick(until.slice(11), { until }, answer.until === until)));
    case "person": {
      const people = able(app.round.pack.people, chosen.of, app.round.context.person_id);
      const wanted = needs(chosen.of);
      return people.length ? more(wanted ? `Who does it, signed off for ${wanted}` : "Who does it", people.map((p) => pick(p.name, { links: p.id }, answer.links === p.id))) : h("p", { class: "skip-more note" }, `Nobody else is signed off for ${wanted}. Choose “Another reason” and say it; the manager sees it.`);
    }
    case "entry": {
      const given = [...stop.doses, ...stop.feeds].flatMap((line) => line.given_today);
      const entered = given.filter((g) => g.action_id);
      const { pack, context } = app.round;
      const claim = answer.claim ?? { person: null, name: null, at: "" };
      const who = (/** @type {Partial<import("./kinds/skip.js").Claim>} */ part) => ({ links: null, text: "", claim: { ...claim, ...part } });
      const typing = (/** @type {Partial<import("./kinds/skip.js").Claim>} */ part) => {
        chosen.answer = { ...chosen.answer, ...who({ ...(chosen.answer.claim ?? claim), ...part }) };
        typed();
      };
      const name = /** @type {HTMLInputElement} */ (h("input", { type: "text", maxlength: 80, value: claim.name ?? "", oninput: () => typing({ person: null, name: name.value }) }));
      const day = { business_date: pack.round.business_date, cut_off_hour: pack.showroom.cut_off_hour };
      const time = /** @type {HTMLInputElement} */ (h("input", { type: "time", required: true, value: claim.at.slice(11), "data-key": "done at", oninput: () => typing({ at: hourOfDay(time.value, day) }) }));
      return h(
        "div",
        {},
        entered.length > 0 && more("Which entry", entered.map((g) => pick(`${g.by}, ${app.words.time(g.at)}`, { links: g.action_id, text: `${g.by}, ${app.words.time(g.at)}`, claim: null }, answer.links === g.action_id))),
        more(entered.length ? "Not entered: who says so, as a claim" : "Who did it; it is kept as a claim", pack.people.filter((p) => p.id !== context.person_id).map((p) => pick(p.name, who({ person: p.id, name: null }), claim.person === p.id && !answer.links))),
        h("div", { class: "skip-more skip-claim" }, h("label", { class: "field" }, h("span", { class: "note" }, "Somebody else, by name"), name), h("label", { class: "field" }, h("span", { class: "note" }, "At what time"), time)),
      );
    }
    default:
      if (reason.asks === "value") return h("div", {}, text("What you saw or measured"), nextOn(chosen.of).map(({ task, on }) => h("p", { class: "skip-more note" }, h("b", {}, `${capital(task.name)}: `), on ? `next on ${app.words.day(on)}.` : "no next date, it ends with this layout.")));
      return text("In words");
  }
}

/** @param {App} app @param {number} n */
function daysAfter(app, n) {
  const start = new Date(`${app.round.pack.round.business_date}T12:00:00Z`);
  return Array.from({ length: n }, (_, i) => new Date(start.getTime() + (i + 1) * 86_400_000).toISOString().slice(0, 10));
}

/** @param {App} app */
function hoursAfter(app) {
  const hour = Number(app.words.time(app.round.now()).slice(0, 2));
  const hours = Array.from({ length: 8 }, (_, i) => hour + 1 + i).filter((x) => x < 24);
  return hours.map((x) => `${app.round.pack.round.business_date}T${String(x).padStart(2, "0")}:00`);
}
