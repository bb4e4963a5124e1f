// One stop: what stands here, what changed, look, give. Above the thumb for reading, below for pressing.

import { stillOpenBefore } from "./before.js";
import { bottlePanel } from "./bottle.js";
import { cameBack } from "./come_back.js";
import { correctPanel } from "./correct.js";
import { button, h } from "./dom.js";
import { frontView } from "./drawing.js";
import { back, numberField, unablePanel } from "./fields.js";
import { againPanel, amountPanel, giveSection, giveWords, givenWords, lessPanel } from "./give.js";
import * as check from "./kinds/check.js";
import { handedOverAt } from "./handed_over.js";
import { answeredWords, lookPanel, lookRows, lookedDrafts } from "./looks.js";
import { tickVessel, vessel } from "./marks.js";
import { looksOf, taskOf } from "./pack.js";
import { askedPhoto } from "./photos.js";
import { startNotice } from "./start_notice.js";
import { isDifferent, nextStop } from "./state.js";
import { refusedNotice, standsLeft } from "./refused.js";
import { topLine } from "./top_line.js";
import { notDryPanel, troublePanel, wrongTankPanel } from "./trouble.js";
import { walk } from "./walk.js";
import { capital, count } from "./words.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Stop} Stop */

const WHY = { random: "One reading, asked at random today", weekly: "This week's reading", start_up: "Start-up test, due today", follow_up: "Asked for again", each_round: "Read the meter of this room" };

/**
 * @param {App} app
 * @param {Stop} stop
 * @returns {Node[]}
 */
export function stopScreen(app, stop) {
  return [topLine(app, `stop ${app.round.pack.stops.indexOf(stop) + 1} of ${app.round.pack.stops.length}`), h("div", { class: "stop-walk" }, h("div", { class: "walkbox" }, walk(app.round, stop)), claims(app)), see(app, stop), since(app, stop), doing(app, stop), foot(app, stop)];
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @returns {boolean} the smaller drawing: there is more to press
 */
export function isSecondHalf(app, stop) {
  return app.round.stateOf(stop).lookDone || app.message?.stop === stop.id;
}

/**
 * Who walks besides, as last heard: a hint, so that two do not do the same.
 * @param {App} app
 */
function claims(app) {
  const { pack } = app.round;
  const said = (pack.claims ?? [])
    .filter((claim) => !claim.is_over && (!claim.is_here || claim.person !== app.round.context.person_id))
    .map((claim) => `${claim.is_here ? "this zone" : `zone ${claim.zone}`}: ${claim.name} at ${app.words.time(claim.at)}`);
  return said.length ? h("p", { class: "hint claims" }, `As last heard, ${said.join("; ")}.`) : null;
}

/** @param {App} app @param {Stop} stop */
function see(app, stop) {
  const tank = app.round.tankOf(stop);
  const cm = tank && [tank.width_mm, tank.depth_mm, tank.height_mm].map((mm) => app.words.number(mm / 10)).join(" × ");
  return h(
    "div",
    { class: "stop-see" },
    h("div", { class: "stop-title" }, stop.tank && h("span", { class: "num" }, stop.tank), h("h1", { tabindex: -1, "data-key": "title" }, tank?.title ?? stop.name ?? ""), h("span", { class: "note nowrap" }, tank ? `${stop.elsewhere ? `${stop.elsewhere}, ` : ""}${cm} cm` : "the room: valves, floor, air, doors")),
    tank && artOf(app, stop),
  );
}

/** @param {App} app @param {Stop} stop */
export function artOf(app, stop) {
  const tank = app.round.tankOf(stop);
  return h("div", { class: "stop-art" }, tank && frontView(tank, { class: "hero", role: "img", "aria-label": `${tank.code} ${tank.title ?? ""}, drawn front view` }));
}

/** @param {App} app @param {Stop} stop */
function since(app, stop) {
  const told = app.panel ? null : startNotice(app);
  const before = stillOpenBefore(app);
  const refused = !app.round.canKeep && standsLeft() ? refusedNotice(app) : null;
  if (!stop.tank && !app.passed.length && !cameBack(app, stop).length && !told && !before.length && !refused) return h("div", { class: "since", hidden: true });
  const { you } = app.round.pack;
  const last = you.last_shift_on;
  const mine = you.person === app.round.context.person_id; // on a tablet the pack may be of whoever was here before
  const whose = mine ? "your" : `${app.round.personName(you.person)}’s`;
  const changed = stop.since.length ? `${stop.since.join(". ")}. Nothing else changed.` : "nothing changed.";
  return h(
    "div",
    { class: "since" },
    before,
    app.passed.map((empty) => h("p", { class: "passed" }, vessel("empty"), ` ${empty.tank}, empty, dry, day ${empty.empty_day}. `, button("Not dry", () => app.open({ name: "not_dry", stop: empty.id }), { class: "look-go" }))),
    stop.elsewhere && h("p", { class: "handed" }, h("b", {}, `Beside this round, in ${stop.elsewhere}. `), "Only what was handed over is to do here."),
    cameBack(app, stop),
    handedOverAt(app, stop),
    stop.tank && h("p", {}, h("b", {}, last ? `Since ${whose} shift ${last === app.round.pack.round.business_date ? "today" : `on ${app.words.weekday(last)}`}: ` : `${capital(whose)} first shift here: `), last ? changed : stop.since.join(". ") || "nothing to know."),
    told,
    refused,
  );
}

/** @param {App} app @param {Stop} stop */
function doing(app, stop) {
  const panel = openedPanel(app, stop);
  return h("div", { class: "stop-do" }, messageOf(app, stop), panel ?? [lookSection(app, stop), readings(app, stop), photoOf(app, stop), gives(app, stop), others(app, stop), lastTapElsewhere(app, stop)]);
}

/** @param {App} app @param {Stop} stop */
function openedPanel(app, stop) {
  const { panel } = app;
  switch (panel?.name) {
    case "look":
      return lookPanel(app, stop, panel.look);
    case "reading": {
      const asked = stop.readings.find((r) => r.parameter === panel.parameter);
      return h("div", { class: "opened" }, h("h2", { class: "open-h", tabindex: -1 }, app.round.pack.parameters[panel.parameter].label), numberField(app, stop, panel.parameter, { look: null, last: asked?.last ?? null, keys: true, task: asked?.task }), back(app));
    }
    case "unable":
      return unablePanel(app, stop, panel.check, panel.look);
    case "again":
      return againPanel(app, stop, panel.task);
    case "amount":
      return amountPanel(app, stop, panel.task);
    case "less":
      return lessPanel(app, stop, panel.task);
    case "bottle":
      return bottlePanel(app, stop, panel.task);
    case "correct":
      return correctPanel(app, stop, panel.id);
    case "trouble":
      return troublePanel(app, stop);
    case "wrong_tank":
      return wrongTankPanel(app, stop);
    case "not_dry":
      return notDryPanel(app, panel.stop);
    default:
      return null;
  }
}

/** @param {App} app @param {Stop} stop */
function messageOf(app, stop) {
  if (!app.round.canKeep) return standsLeft() ? null : refusedNotice(app);
  if (app.message?.stop !== stop.id || app.panel) return null;
  const { text, card } = app.message;
  const { stop: next } = nextStop(app.round.pack.stops, app.round.states, stop.id);
  const on = app.round.stateOf(stop).finished && next && !app.panel;
  return h("div", { class: "notice", role: "status" }, h("span", {}, text), on && button(`Go on to ${app.round.codeOf(next)}`, () => app.go(next), { class: "btn btn-wet", "data-key": "go on" }), card && button("First minute", () => app.firstMinute(card), { class: "btn btn-wet" }));
}

/**
 * The vessel that fills when an entry is durable.
 * @param {{pressed: boolean, strong: string, small: string, then?: string | null, key: string, number?: string, onclick?: () => unknown}} of
 */
export function tick({ pressed, strong, small, then = null, key, number, onclick }) {
  return h("button", { class: "tick", type: "button", "aria-pressed": String(pressed), "aria-keyshortcuts": number, "data-key": key, onclick: pressed ? null : onclick && ((/** @type {Event} */ event) => (/** @type {HTMLElement} */ (event.currentTarget).setAttribute("data-asked", ""), onclick())) }, tickVessel(pressed), h("span", {}, strong, h("small", {}, small)), then && h("span", { class: "then" }, then));
}

/** Fills a tick where it stands, before the screen is drawn anew. @param {HTMLElement} button */
export function pressTick(button) {
  button.removeAttribute("data-asked");
  button.setAttribute("aria-pressed", "true");
  button.firstElementChild?.replaceWith(tickVessel(true));
}

/**
 * Where it is; or that it counts only when a person has looked at it.
 * @param {App} app
 * @param {(import("./pack.js").Entry | undefined)[]} entries
 */
function kept(app, entries) {
  const where = app.holds() === "tablet" ? "kept on this tablet" : "kept";
  return entries.some((entry) => entry?.verdict === "held") ? `${where}; needs a person before it counts` : where;
}

/** @param {App} app @param {Stop} stop @param {string} action_id */
function undoHere(app, stop, action_id) {
  const tap = app.round.undoable();
  if (tap?.stop.id !== stop.id || !tap.entries.some((entry) => entry.action_id === action_id)) return null;
  return button("Undo", () => app.undo(), { class: "btn btn-wet", "data-key": "undo", "aria-keyshortcuts": "u" });
}

/**
 * @param {HTMLElement} pressed
 * @param {HTMLElement | null} undo
 */
function withUndo(pressed, undo) {
  return undo ? h("div", { class: "tick-row" }, pressed, undo) : pressed;
}

/** @param {App} app @param {Stop} stop */
function lookSection(app, stop) {
  const state = app.round.stateOf(stop);
  const looks = looksOf(stop);
  if (!looks.length) return null;
  const task = taskOf(stop, "look");
  const settled = task ? state.tasks.get(task.id) : undefined;
  if (!state.lookDone) {
    const left = state.looksLeft.length;
    const some = left < looks.length;
    const strong = some ? `The other ${left === 1 ? "one" : count(left)} as ${left === 1 ? "it" : "they"} should be` : "Looked, all as it should be";
    const small = some ? `${count(looks.length - left)} of ${count(looks.length)} entered` : `${capital(count(left))} looks, in the order of your eyes`;
    return [lookRows(app, stop), h("h2", { class: "half-h" }, "Look"), tick({ pressed: false, strong, small: capital(small), key: "tick 1", number: "1", then: thenFrom(app, stop, "look"), onclick: () => app.enter(stop, lookedDrafts(app, stop), "Looked") })];
  }
  if (settled?.kind === "skip") return [h("h2", { class: "half-h" }, "Look"), skippedRow(app, stop, settled)];
  const different = [...state.looks].filter(([, answer]) => answer.how === "different");
  const last = [...state.looks.values()].map((answer) => answer.entry).sort((a, b) => (a.done_at < b.done_at ? -1 : 1)).at(-1) ?? settled;
  const strong = different.length ? `Looked, ${count(different.length)} different` : "Looked, all as it should be";
  const at = last ? `${app.words.time(last.done_at)}${last.entered_late ? ", entered late" : ""}` : "";
  const small = different.length ? capital(different.map(([look, { entry }]) => `${(app.round.pack.looks[look]?.label ?? look).toLowerCase()}: ${answeredWords(app, stop, entry, look)}`).join("; ")) : `${at}, ${kept(app, [last])}`;
  return [h("h2", { class: "half-h" }, "Look"), withUndo(tick({ pressed: true, strong, small, key: "tick 1" }), last ? undoHere(app, stop, last.action_id) : null)];
}

/** @param {App} app @param {Stop} stop @param {import("./pack.js").Entry} entry */
function skippedRow(app, stop, entry) {
  const task = stop.tasks.find((t) => t.id === entry.task_id);
  const reason = app.round.pack.reasons.find((r) => r.code === entry.body.reason);
  return h("div", { class: "row" }, vessel("skipped"), h("p", {}, h("b", {}, capital(task?.name ?? "task")), ` skipped: ${reason?.label.toLowerCase() ?? entry.body.reason}, ${app.words.time(entry.done_at)}`), undoHere(app, stop, entry.action_id) ?? h("span", {}));
}

/** @param {App} app @param {Stop} stop */
function readings(app, stop) {
  const state = app.round.stateOf(stop);
  if (!state.lookDone && stop.tank) return null;
  return stop.readings.map((asked) => {
    const entry = state.readings.get(asked.parameter);
    if (entry) return h("div", { class: "row" }, vessel("done"), h("p", {}, h("b", {}, app.round.pack.parameters[asked.parameter].label), ` ${answeredWords(app, stop, entry, asked.parameter)}`), undoHere(app, stop, entry.action_id) ?? h("span", {}));
    return [h("h2", { class: "half-h" }, WHY[asked.why]), numberField(app, stop, asked.parameter, { look: null, last: asked.last, keys: false, task: asked.task })];
  });
}

/** @param {App} app @param {Stop} stop */
function photoOf(app, stop) {
  const { stop: next } = nextStop(app.round.pack.stops, app.round.states, stop.id);
  return app.round.stateOf(stop).lookDone ? askedPhoto(app, stop, next, (action) => undoHere(app, stop, action)) : null;
}

/** @param {App} app @param {Stop} stop */
function gives(app, stop) {
  if (!stop.doses.length && !stop.feeds.length) return null;
  const state = app.round.stateOf(stop);
  const stopped = app.round.stoppedAt(stop);
  if (stopped && !state.giveDone) return [h("h2", { class: "half-h" }, "Give"), restingTick(app, stopped)];
  if (state.giveDone) {
    const given = givenWords(app, stop);
    if (!given) return null;
    const wasGiven = given.entries.some((entry) => entry.kind !== "skip");
    const body = wasGiven ? tick({ pressed: true, strong: given.given, small: [given.detail, `${app.words.time(given.at)}, ${kept(app, given.entries)}`].filter(Boolean).join(". "), key: "tick 2" }) : null;
    return [h("h2", { class: "half-h" }, "Give"), body ? withUndo(body, undoHere(app, stop, given.entries[given.entries.length - 1].action_id)) : given.entries.map((entry) => skippedRow(app, stop, entry))];
  }
  const words = giveWords(app, stop);
  const then = thenFrom(app, stop, "give");
  return [h("h2", { class: "half-h" }, "Give"), giveSection(app, stop, (drafts, said, first) => tick({ pressed: false, strong: words.strong, small: words.small, then: first ? null : then, key: "tick 2", number: "2", onclick: first ?? (() => app.enter(stop, drafts, said)) }), (entry) => skippedRow(app, stop, entry))];
}

/**
 * While an emergency is open here nothing is given: the tick is dashed and says why.
 * @param {App} app
 * @param {import("./emergencies.js").Emergency} by
 */
function restingTick(app, by) {
  const card = app.round.pack.cards.find((one) => one.code === by.card);
  return h("button", { class: "tick rests", type: "button", "data-key": "resting", onclick: () => app.open({ name: "first_minute", card: by.card, id: by.id }) }, tickVessel(false), h("span", {}, "Nothing is given here now", h("small", {}, `Paused by ${card?.title ?? by.card}, ${app.words.time(by.openedAt)}, until somebody says that it is over. Tap for the card.`)));
}

/** @param {App} app @param {Stop} stop */
function others(app, stop) {
  return app.round.stateOf(stop).othersLeft.map((task) => tick({ pressed: false, strong: `${capital(task.name)}, done`, small: `class ${task.harm}`, key: `task ${task.id}`, onclick: () => app.enter(stop, [check.complete(stop, task.id)], `${task.name} done`) }));
}

/**
 * "then T12" on the tick that finishes the stop; looking comes first, so tick two leaves it out.
 * @param {App} app
 * @param {Stop} stop
 * @param {"look" | "give"} which
 */
function thenFrom(app, stop, which) {
  const state = app.round.stateOf(stop);
  const rest = (which === "give" ? 0 : state.dosesLeft.length + state.feedsLeft.length) + state.readingsLeft.length + state.othersLeft.length;
  if (rest) return null;
  const { stop: next } = nextStop(app.round.pack.stops, app.round.states, stop.id);
  return next ? `then ${app.round.codeOf(next)}` : "then close";
}

/**
 * The last tap, where the walk has gone on since: still taken back with one tap.
 * @param {App} app
 * @param {Stop} stop
 */
function lastTapElsewhere(app, stop) {
  const tap = app.round.undoable();
  if (!tap || tap.stop.id === stop.id) return null;
  const what = tapWords(app, tap);
  return h("div", { class: "row last-tap" }, vessel(app.round.stateOf(tap.stop).mark), h("p", {}, h("b", {}, app.round.codeOf(tap.stop)), ` ${what}, ${app.words.time(tap.entries[0].done_at)}`), button("Undo", () => app.undo(), { class: "btn btn-wet", "data-key": "undo", "aria-label": `Undo ${app.round.codeOf(tap.stop)}: ${what}`, "aria-keyshortcuts": "u" }));
}

/**
 * @param {App} app
 * @param {{stop: Stop, entries: import("./pack.js").Entry[]}} tap
 */
export function tapWords(app, { stop, entries }) {
  if (entries.some((e) => e.kind === "dose" || e.kind === "feed")) return (givenWords(app, stop)?.given ?? "given").toLowerCase();
  const [first] = entries;
  if (first.kind === "skip") return "skipped";
  if (first.kind === "check" && first.body.value === "all_normal") return (first.body.looks ?? []).length < looksOf(stop).length ? "looked, the rest as it should be" : "looked, as it should be";
  if (first.kind === "check" || first.kind === "unable") return `${(app.round.pack.parameters[first.body.check] ?? app.round.pack.looks[first.body.check])?.label ?? "look"}: ${answeredWords(app, stop, first, first.body.check).replace(/[.,] \d\d:\d\d$/, "")}`;
  if (first.kind === "animal") return `${first.body.count ?? "some"} ${first.body.what}`;
  return first.kind === "note" || first.kind === "photo" ? first.kind : isDifferent(first, () => false) ? "different" : "done";
}

/** @param {App} app @param {Stop} stop */
function foot(app, stop) {
  const open = !app.round.stateOf(stop).finished;
  return h(
    "div",
    { class: "stop-foot" },
    open && button("Skip, with a reason", () => app.open({ name: "skip" }), { "data-key": "skip" }),
    button("Something is wrong", () => app.open({ name: "trouble" }), { "data-key": "trouble" }),
    stop.tank && button("Wrong tank", () => app.open({ name: "wrong_tank" }), { "data-key": "wrong" }),
    button("Close the round", () => app.open({ name: "close" }), { "data-key": "close" }),
    button("Leave", () => app.open({ name: "leave" }), { "data-key": "leave" }),
  );
}
