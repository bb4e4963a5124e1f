// The end of the round: what was seen, what was different, what stays open, and one vessel that closes it.

import { button, h } from "./dom.js";
import { KIND_WORDS, chooseWho, handedTo, handoverDrafts, handoverLines, handoverSection, whoSection } from "./handover.js";
import { quickStops } from "./handover_draft.js";
import { vessel } from "./marks.js";
import { refusedNotice } from "./refused.js";
import { countsNoMore, holding } from "./state.js";
import { tick } from "./stop.js";
import { topLine } from "./top_line.js";
import { walk } from "./walk.js";
import { capital, count, listed } from "./words.js";

/** @typedef {import("./app.js").App} App */

/**
 * @param {App} app
 * @returns {Node[]}
 */
export function closeScreen(app) {
  const { round, words } = app;
  const filled = round.pack.stops.filter((stop) => stop.empty_day === null);
  const states = filled.map((stop) => ({ stop, state: round.stateOf(stop) }));
  const stops = states.filter(({ state }) => state.of > 0);
  const seen = states.filter(({ state }) => state.lookDone && state.looks.size > 0);
  const asTheyWere = seen.filter(({ state }) => state.asItWas).length;
  const empty = round.pack.stops.length - filled.length;
  const open = states.filter(({ state }) => !state.finished);
  const closed = round.closedAt;
  const opened = round.pack.round.opened_at ?? round.log.find(({ action }) => action.kind === "round_open")?.action.done_at;
  const minutes = opened ? Math.max(0, Math.round((round.now().getTime() - Date.parse(opened)) / 60_000)) : 0;
  const plan = round.pack.round.planned_minutes;
  return [
    topLine(app, closed ? `closed ${words.time(closed)}` : `${minutes} min${plan ? `, plan ${plan}` : ""}`),
    h("h1", { class: "lede ob-h", tabindex: -1, "data-key": "title" }, h("b", {}, stops.length ? `${seen.length} of ${stops.length} seen, ${asTheyWere} as ${asTheyWere === 1 ? "it was" : "they were"}.` : "This round asks for nothing."), ` ${closed ? "" : `${knowWords(app)} `}${openWords(open.length)}${empty ? ` ${empty === 1 ? "One place is" : `${empty} places are`} empty.` : ""}`),
    ...(round.canKeep ? [] : [refusedNotice(app)]),
    h("div", { class: "stop-walk" }, h("div", { class: "walkbox" }, walk(round, null))),
    ...(closed ? handedOver(app) : handoverSection(app)),
    ...staysOpen(app, states),
    ...quickWords(app),
    ...whoSection(app),
    closed ? h("p", { class: "row" }, vessel("done"), h("span", {}, `Closed ${words.time(closed)}. Entries made later are kept for the manager.`), h("span", {})) : h("div", { class: "close-do" }, closeTick(app, open)),
    h("div", { class: "stop-foot" }, open[0] && !closed && button(`Go to ${round.codeOf(open[0].stop)}`, () => app.go(open[0].stop)), !closed && button("Hand over to somebody else", () => chooseWho(app)), button(closed ? "Leave" : "Leave it open", () => (closed ? void app.leaveFor(app.addresses.board) : app.open({ name: "leave" })))),
  ];
}

/** @param {number} n */
function openWords(n) {
  return n === 0 ? "Nothing stays open." : n === 1 ? "One stop stays open." : `${n} stops stay open.`;
}

/** @param {App} app */
function knowWords(app) {
  const n = handoverLines(app).length;
  return n === 0 ? "" : `${handedTo(app)?.name ?? "The next shift"} must know ${n === 1 ? "one thing" : `${count(n)} things`}.`;
}

/**
 * What was handed over with the closing.
 * @param {App} app
 */
function handedOver(app) {
  const back = countsNoMore(app.round.log.map(({ action, verdict }) => ({ ...action, verdict: verdict?.verdict })));
  const lines = app.round.log.filter(({ action }) => action.kind === "handover_line" && !back.has(action.action_id)).map(({ action }) => action);
  const to = lines[0]?.body.handed_to ? app.round.personName(String(lines[0].body.handed_to)) : "the next shift";
  return lines.length ? [h("h2", { class: "half-h" }, `Handed over to ${to}`), h("ul", { class: "rows" }, lines.map(({ stop_id, body }) => h("li", { class: "row" }, vessel("done"), h("p", {}, h("b", {}, stop_id ? `${app.round.codeOf(/** @type {import("./pack.js").Stop} */ (app.round.stopById(stop_id)))} ` : ""), body.text), h("span", { class: "hint" }, KIND_WORDS[/** @type {"do"} */ (body.line)]))))] : [];
}

/**
 * Stops that took under ten seconds, without blame.
 * @param {App} app
 */
function quickWords(app) {
  const quick = quickStops(app.round.pack, (stop) => holding(app.round.entriesAt(stop)));
  if (!quick.length) return [];
  const n = quick.length;
  return [h("p", { class: "note close-n" }, `${capital(count(n))} ${n === 1 ? "stop" : "stops"} took under 10 seconds: ${listed(quick)}. Nobody is blamed; look again where you are not sure.`)];
}

/**
 * @param {App} app
 * @param {{stop: import("./pack.js").Stop, state: import("./state.js").StopState}[]} states
 */
function staysOpen(app, states) {
  const rows = [];
  const untouched = states.filter(({ state }) => state.mark === "to_do");
  const many = untouched.length > 4;
  if (many) rows.push(h("li", { class: "row" }, vessel("to_do"), h("p", {}, h("b", {}, listed(untouched.map(({ stop }) => app.round.codeOf(stop)))), " not yet seen"), h("span", { class: "hint" }, lateWords(app, untouched.flatMap(({ stop }) => stop.tasks)))));
  for (const { stop, state } of states) {
    if (many && state.mark === "to_do") continue;
    const code = h("b", {}, app.round.codeOf(stop));
    if (!state.finished) {
      const looks = state.looks.size;
      const what = state.mark === "to_do" ? "not yet seen" : state.lookDone ? `looked, ${capital(stop.tasks.filter((t) => t.code !== "look" && !state.tasks.has(t.id)).map((t) => t.name).join(" and ") || "a reading").toLowerCase()} still to do` : `${looks} of ${looks + state.looksLeft.length} looks`;
      rows.push(h("li", { class: "row" }, vessel(state.mark), h("p", {}, code, ` ${what}`), h("span", { class: "hint" }, lateWords(app, stop.tasks.filter((t) => !state.tasks.has(t.id))))));
    }
    for (const entry of state.entries.filter((e) => e.kind === "skip" && e.body.reason !== "already_done")) {
      const reason = app.round.pack.reasons.find((r) => r.code === entry.body.reason);
      const task = stop.tasks.find((t) => t.id === entry.task_id);
      rows.push(h("li", { class: "row" }, vessel("skipped"), h("p", {}, h("b", {}, app.round.codeOf(stop)), ` ${task?.name ?? "task"} skipped: ${reason?.label.toLowerCase()}`), h("span", { class: "hint" }, untilWords(app, entry.body.until) ?? forWhom(app, reason, entry.body.links) ?? reason?.effect ?? "")));
    }
  }
  return rows.length ? [h("h2", { class: "half-h" }, "Stays open"), h("ul", { class: "rows" }, rows)] : [];
}

/**
 * @param {App} app
 * @param {string | null} until  local date, or date and hour
 */
function untilWords(app, until) {
  if (!until) return null;
  return `rests until ${until.length > 10 ? until.slice(11) : app.words.day(until)}`;
}

/**
 * @param {App} app
 * @param {import("./pack.js").Reason | undefined} reason
 * @param {string | null} links  a person where the reason asks for one
 */
function forWhom(app, reason, links) {
  return reason?.asks === "person" && links ? `stays due for ${app.round.personName(links)}` : null;
}

/**
 * From when the first of these tasks counts late.
 * @param {App} app
 * @param {import("./pack.js").Task[]} tasks
 */
function lateWords(app, tasks) {
  const first = tasks.map((task) => task.late_from ?? "").filter(Boolean).sort()[0];
  return first ? `late from ${app.words.when(first, app.round.now())}` : "";
}

/**
 * @param {App} app
 * @param {{stop: import("./pack.js").Stop}[]} open
 */
function closeTick(app, open) {
  const waits = app.round.log.filter(({ verdict }) => !verdict).length;
  const small = waits ? `${waits} not sent yet; ${app.holds() === "tablet" ? "kept on this tablet until the network is there" : "leave this page open until all are"}` : open.length ? "What is open stays due" : "Everything is seen";
  const left = open.map(({ stop }) => ({ stop: stop.id, reason: null }));
  const lines = handoverDrafts(app);
  const to = handedTo(app);
  const strong = lines.length ? `Close, and hand over to ${to?.name ?? "the next shift"}` : "Close the round";
  const told = lines.length ? "Read by name; unread an hour into that shift, the manager is told" : "";
  const close = { kind: "round_close", stop_id: null, body: { left_open: left, hand_over_to: lines.length && to ? to.id : null } };
  return tick({ pressed: false, strong, small: [told, small].filter(Boolean).join(". "), key: "tick close", number: "1", onclick: () => app.enter(null, [...lines, close], lines.length ? "Handed over, round closed" : "Round closed") });
}
