// A task that was skipped and is to do again: it was handed to whoever is here, or its hour has come.

import { h } from "./dom.js";
import { capital } from "./words.js";

/** @typedef {import("./pack.js").Entry} Entry */
/** @typedef {{person_id: string, hour: string}} Here  who is here; local date and hour, "2026-03-12T08:08" */

/**
 * @param {Entry} entry
 * @param {Here} here
 * @returns {boolean} a skip that settles nothing for this person, now
 */
export function comesBack(entry, here) {
  if (entry.kind !== "skip") return false;
  const { reason, links, until } = entry.body;
  if (reason === "needs_skill") return links === here.person_id && entry.person_id !== here.person_id;
  return isHour(until) && until <= here.hour;
}

/**
 * @param {Entry} entry
 * @returns {boolean} it rests until an hour: the clock alone changes what is to do
 */
export function restsUntilAnHour(entry) {
  return entry.kind === "skip" && isHour(entry.body.until);
}

/** @param {unknown} until */
function isHour(until) {
  return typeof until === "string" && until.length > "2026-03-12".length;
}

/**
 * The local date and hour of a showroom, in the form in which a skip says them.
 * @param {string} zone
 * @returns {(now: Date) => string}
 */
export function localHour(zone) {
  const format = new Intl.DateTimeFormat("en-GB", { timeZone: zone, year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
  return (now) => {
    const part = Object.fromEntries(format.formatToParts(now).map(({ type, value }) => [type, value]));
    return `${part.year}-${part.month}-${part.day}T${part.hour}:${part.minute}`;
  };
}

/**
 * What came back at this stop, in words, while it is not done.
 * @param {import("./app.js").App} app
 * @param {import("./pack.js").Stop} stop
 */
export function cameBack(app, stop) {
  const { round } = app;
  const state = round.stateOf(stop);
  return stop.tasks.flatMap((task) => {
    if (state.tasks.has(task.id) || (task.code === "look" && state.lookDone)) return [];
    const entry = state.entries.findLast((one) => one.task_id === task.id && comesBack(one, round.here()));
    const by = entry?.body.reason === "needs_skill" ? round.personName(entry.person_id) : !entry && task.handed?.to === round.here().person_id ? task.handed.by : null;
    if (by) return [h("p", { class: "handed" }, h("b", {}, `${by} hands you ${task.name}: `), `it needs ${task.skill}.`)];
    return entry ? [h("p", { class: "handed" }, h("b", {}, `${capital(task.name)} rested until ${entry.body.until.slice(11)}. `), "It is to do now.")] : [];
  });
}
