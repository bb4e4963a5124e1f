// What has been entered at a stop, and what is still to do? Worked out from the entries alone.

import { comesBack } from "./come_back.js";
import { restOf } from "./kinds/dose.js";
import { looksOf } from "./pack.js";

/** @typedef {import("./pack.js").Stop} Stop */
/** @typedef {import("./pack.js").Entry} Entry */

/**
 * @typedef {object} StopState
 * @property {Map<string, {how: "normal" | "different" | "read", entry: Entry}>} looks  looks that were answered
 * @property {import("./pack.js").Look[]} looksLeft
 * @property {Map<string, Entry>} readings  asked readings that were answered
 * @property {import("./pack.js").AskedReading[]} readingsLeft
 * @property {Map<string, Entry>} tasks  tasks with something given, completed or skipped, by task id
 * @property {import("./pack.js").Dose[]} dosesLeft
 * @property {import("./pack.js").Feed[]} feedsLeft
 * @property {import("./pack.js").Task[]} othersLeft
 * @property {boolean} lookDone  every look answered, or the look skipped
 * @property {boolean} giveDone
 * @property {boolean} finished
 * @property {boolean} asItWas  looked, and nothing was different
 * @property {number} done  answered looks, readings and tasks
 * @property {number} of
 * @property {import("./marks.js").StopMark} mark
 * @property {Entry[]} entries  those that hold
 */

const GIVEN = new Set(["look", "dose", "feed"]);

/** Kinds by which another entry counts no more, and the field that names it. @type {Record<string, string>} */
const BACK = { undo: "takes_back", move_record: "moves", amend: "amends" };

/**
 * The names of what counts no more: taken back, moved to another tank, or put right. A correction that waits for a
 * person, and one that was taken back itself, changes nothing.
 * @param {{action_id: string, kind: string, body: any, verdict?: string}[]} entries
 * @returns {Set<string>}
 */
export function countsNoMore(entries) {
  const said = entries.filter((entry) => BACK[entry.kind] && entry.verdict !== "held");
  const undone = new Set(said.filter(({ kind }) => kind === "undo").map(({ body }) => body.takes_back));
  return new Set(said.filter((entry) => !undone.has(entry.action_id)).map((entry) => entry.body[BACK[entry.kind]]));
}

/**
 * Leaves out what was taken back, what was moved to another tank, and what was taken in twice.
 * @param {Entry[]} entries
 * @returns {Entry[]}
 */
export function holding(entries) {
  const back = countsNoMore(entries);
  const seen = new Set();
  return entries.filter((entry) => {
    if (BACK[entry.kind] || entry.became || back.has(entry.action_id) || seen.has(entry.action_id)) return false;
    seen.add(entry.action_id);
    return true;
  });
}

/**
 * @param {Entry} entry
 * @param {(entry: Entry) => boolean | null} alarmed  the number or word is not as it should be; null: it does not say
 * @returns {boolean} it says that something is not as it should be
 */
export function isDifferent(entry, alarmed) {
  if (entry.kind === "animal") return entry.body.what !== "seen";
  if (entry.kind === "unable") return true;
  if (entry.kind !== "check" || entry.body.value === "all_normal") return false;
  if (entry.body.value === "different") return true;
  const judged = alarmed(entry);
  return isNumber(entry) ? judged === true : (judged ?? Boolean(entry.body.look));
}

/** @param {Entry} entry */
function isNumber(entry) {
  return /^[<>]?-?\d/.test(entry.body.value);
}

/**
 * @param {Stop} stop
 * @param {Entry[]} all  entries of this stop, also those taken back, oldest first
 * @param {(entry: Entry) => boolean | null} [alarmed]  as for isDifferent
 * @param {boolean} [stopped]  an emergency is open here: what would be given rests
 * @param {import("./come_back.js").Here} [here]  who is here, and when: what was handed to this person or whose hour has come is to do
 * @returns {StopState}
 */
export function stopState(stop, all, alarmed = () => null, stopped = false, here = { person_id: "", hour: "" }) {
  const entries = holding(all);
  const looks = new Map();
  const readings = new Map();
  const tasks = new Map();
  const known = looksOf(stop);
  for (const entry of entries) {
    const { body } = entry;
    if (entry.kind === "check" && body.value === "all_normal") {
      for (const look of body.looks ?? []) if (!looks.has(look)) looks.set(look, { how: "normal", entry });
    } else if (entry.kind === "check" || entry.kind === "unable") {
      const asked = stop.readings.some((r) => r.parameter === body.check);
      const open = !asked || (entry.kind === "unable" && !looks.has(body.check)); // not to be measured is neither looked at nor read
      const look = body.look ?? (open && known.some((l) => l.look === body.check) ? body.check : null);
      if (look) looks.set(look, { how: isDifferent(entry, alarmed) ? "different" : "read", entry });
      if (stop.readings.some((reading) => reading.parameter === body.check)) readings.set(body.check, entry);
    } else if (entry.kind === "animal" && body.what !== "seen") {
      looks.set("animals", { how: "different", entry });
    } else if (entry.task_id && ["dose", "feed", "complete", "skip"].includes(entry.kind) && !comesBack(entry, here)) {
      tasks.set(entry.task_id, entry);
    }
  }
  const rests = new Map();
  for (const [task, entry] of tasks) {
    if (entry.kind !== "dose" || entry.body.short !== "bottle_empty") continue;
    rests.set(task, entry);
    tasks.delete(task);
  }
  const lookTask = stop.tasks.find((task) => task.code === "look");
  const lookSettled = Boolean(lookTask && tasks.has(lookTask.id));
  const looksLeft = lookSettled ? [] : known.filter((look) => !looks.has(look.look));
  const readingsLeft = lookSettled && tasks.get(lookTask?.id ?? "")?.kind === "skip" ? [] : stop.readings.filter((reading) => !readings.has(reading.parameter));
  const dosesLeft = stop.doses.filter((dose) => !tasks.has(dose.task)).map((dose) => (rests.has(dose.task) ? restOf(dose, rests.get(dose.task)) : dose));
  const feedsLeft = stop.feeds.filter((feed) => !tasks.has(feed.task));
  const othersLeft = stop.tasks.filter((task) => !GIVEN.has(task.code) && !tasks.has(task.id));
  const left = looksLeft.length + readingsLeft.length + dosesLeft.length + feedsLeft.length + othersLeft.length;
  const others = stop.tasks.filter((task) => !GIVEN.has(task.code)).length;
  const of = known.length + stop.readings.length + stop.doses.length + stop.feeds.length + others;
  const paused = stopped ? dosesLeft.length + feedsLeft.length : 0;
  const finished = left === paused;
  const begun = looks.size + readings.size + tasks.size + rests.size > 0;
  const allSkipped = tasks.size > 0 && [...tasks.values()].every((entry) => entry.kind === "skip") && looks.size === 0;
  return {
    looks,
    looksLeft,
    readings,
    readingsLeft,
    tasks,
    dosesLeft,
    feedsLeft,
    othersLeft,
    lookDone: looksLeft.length === 0,
    giveDone: dosesLeft.length + feedsLeft.length === 0,
    finished,
    asItWas: looksLeft.length === 0 && !entries.some((entry) => isDifferent(entry, alarmed)) && !entries.some((entry) => entry.kind === "skip"),
    done: of - left,
    of,
    mark: stop.empty_day !== null ? "empty" : entries.some((entry) => entry.verdict === "held") ? "held" : finished && begun && !paused ? (allSkipped ? "skipped" : "done") : begun ? "half" : "to_do",
    entries,
  };
}

/**
 * Entries of one tap share their moment: what Undo takes back together.
 * @param {Entry[]} entries  that hold, oldest first
 * @returns {Entry[]} the last tap; empty when there is none
 */
export function lastTap(entries) {
  const own = entries.filter((entry) => !["round_open", "stop_leave", "round_close"].includes(entry.kind));
  const last = own.at(-1);
  return last ? own.filter((entry) => entry.done_at === last.done_at && entry.person_id === last.person_id) : [];
}

/**
 * Where the walk goes on: the next stop with something to do, and the empty places passed by on the way.
 * @param {Stop[]} stops
 * @param {Map<string, StopState>} states
 * @param {string | null} from  id of the stop that is left; null to begin
 * @returns {{stop: Stop | null, passed: Stop[]}} stop null: nothing after this one
 */
export function nextStop(stops, states, from) {
  const start = from === null ? 0 : stops.findIndex((stop) => stop.id === from) + 1;
  /** @type {Stop[]} */
  const passed = [];
  for (const stop of stops.slice(start)) {
    if (stop.empty_day !== null) passed.push(stop);
    else if (!states.get(stop.id)?.finished) return { stop, passed };
  }
  return { stop: null, passed };
}
