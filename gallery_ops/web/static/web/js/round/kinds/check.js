// A look or a reading, as an entry.

import { judge, rangesFor } from "../ranges.js";

/** @typedef {import("../pack.js").Pack} Pack */
/** @typedef {import("../pack.js").Stop} Stop */
/** @typedef {import("../../outbox/envelope.js").Draft} Draft */

/**
 * Somebody looked, and all these were as they should be. Never a number.
 * @param {Stop} stop
 * @param {string[]} looks
 * @param {string | null} task  of the look
 * @returns {Draft}
 */
export function allNormal(stop, looks, task) {
  return { kind: "check", stop_id: stop.id, task_id: task, body: { check: stop.check ?? "look", value: "all_normal", looks, text: null, unit: null, asked_again: false } };
}

/**
 * A number that was read.
 * @param {Stop} stop
 * @param {string} parameter
 * @param {import("../pad.js").Typed} typed
 * @param {{unit: string | null, look: string | null, asked: boolean, task?: string | null}} how
 * @returns {Draft}
 */
export function reading(stop, parameter, typed, { unit, look, asked, task = null }) {
  return { kind: "check", stop_id: stop.id, task_id: task, body: { check: parameter, look, value: typed.value, text: typed.text, unit, asked_again: asked } };
}

/**
 * @param {Stop} stop
 * @param {string} parameter
 * @param {import("../pack.js").Option} option
 * @param {string} look
 * @returns {Draft}
 */
export function chosen(stop, parameter, option, look) {
  return { kind: "check", stop_id: stop.id, body: { check: parameter, look, value: option.code, text: option.label, unit: null, asked_again: false } };
}

/**
 * Something is different, in words.
 * @param {Stop} stop
 * @param {string} look
 * @param {string} text
 * @returns {Draft}
 */
export function inWords(stop, look, text) {
  return { kind: "check", stop_id: stop.id, body: { check: look, look, value: "different", text, unit: null, asked_again: false } };
}

/**
 * Heads counted, batch by batch.
 * @param {Stop} stop
 * @param {string} look
 * @param {{batch: string, count: number}[]} counts
 * @param {boolean} asked
 * @returns {Draft}
 */
export function counted(stop, look, counts, asked) {
  return { kind: "check", stop_id: stop.id, body: { check: look, look, value: "counted", counts, text: null, unit: null, asked_again: asked } };
}

/**
 * @param {Stop} stop
 * @param {string} check
 * @param {string} reason
 * @returns {Draft}
 */
export function unable(stop, check, reason) {
  return { kind: "unable", stop_id: stop.id, body: { check, reason } };
}

/** Every look was answered by itself: then the task of the look is completed by itself.
 * @param {Stop} stop
 * @param {string} task
 * @returns {Draft}
 */
export function complete(stop, task) {
  return { kind: "complete", stop_id: stop.id, task_id: task, body: { task, minutes: null, answers: {} } };
}

/**
 * The last look answered by itself leaves nothing to tick: then its task is completed with it.
 * @param {Stop} stop
 * @param {import("../pack.js").Look[]} looksLeft
 * @param {string | null} look  the one that is answered; null: none is
 * @param {Draft} draft
 * @returns {Draft[]}
 */
export function withTask(stop, looksLeft, look, draft) {
  const task = stop.tasks.find((one) => one.code === "look");
  const last = looksLeft.length === 1 && looksLeft[0].look === look;
  return last && task ? [draft, complete(stop, task.id)] : [draft];
}

/**
 * @param {Pack} pack
 * @param {Stop} stop
 * @param {string} parameter
 * @param {number | null} [last]
 * @returns {(value: number) => import("../ranges.js").Judgement}
 */
export function judgeOf(pack, stop, parameter, last = null) {
  const ranges = rangesFor(pack.parameters[parameter] ?? {}, stop.limits?.[parameter]);
  return (value) => judge(value, ranges, last);
}

/**
 * @param {Pack} pack
 * @param {Stop} stop
 * @returns {(entry: import("../pack.js").Entry) => boolean | null} a number outside its range, a word that is not as
 *   it should be; null: the word says nothing by itself
 */
export function alarmed(pack, stop) {
  return ({ body, done_at }) => {
    const option = pack.parameters[body.check]?.options?.find((o) => o.code === body.value);
    if (option) return judgeWord(stop.looks.find((look) => look.look === body.look), option, Date.parse(done_at));
    const number = Number(body.value);
    if (!pack.parameters[body.check] || Number.isNaN(number)) return false;
    return judgeOf(pack, stop, body.check)(number).alarm !== null;
  };
}

/**
 * Does this word, seen then, raise an alert? A drop checker tells nothing before the gas has run for two hours:
 * its word is kept and not judged, but for one that says too much gas at any hour.
 * @param {import("../pack.js").Look | undefined} look
 * @param {import("../pack.js").Option} option
 * @param {number} at  [ms]
 * @returns {boolean | null} null: the look does not say; the word's own mark decides
 */
export function judgeWord(look, option, at) {
  if (look?.always?.includes(option.code)) return true;
  if (look?.valid_from && at < Date.parse(look.valid_from)) return false;
  if (look?.right) return !look.right.includes(option.code);
  return option.normal ? false : null;
}

/**
 * The sentence for a number that is refused, asked about or an alarm.
 * @param {Pack} pack
 * @param {string} parameter
 * @param {import("../pad.js").Typed} typed
 * @param {import("../ranges.js").Judgement} judged
 * @param {(value: number | string) => string} number
 * @returns {string}
 */
export function rangeSentence(pack, parameter, typed, judged, number) {
  const { label, unit } = pack.parameters[parameter];
  const of = unit ? ` ${unit}` : "";
  const pair = (/** @type {import("../pack.js").Pair} */ [low, high]) =>
    low === null ? `up to ${number(high ?? 0)}${of}` : high === null ? `${number(low)}${of} or more` : `${number(low)} to ${number(high)}${of}`;
  if (judged.refuse && judged.ranges.hard) return `${label}: ${typed.text}${of} cannot be. Between ${pair(judged.ranges.hard).replace(" to ", " and ")}; read it again and type it once more.`;
  if (judged.ask && judged.ranges.ask) return `${label} is usually ${pair(judged.ranges.ask)}. Is it really ${typed.text}${of}?`;
  if (judged.alarm === "jump") return `${number(judged.ranges.jump ?? 0)}${of} or more away from last time`;
  return judged.ranges.alarm ? `${judged.alarm === "low" ? "below" : "above"} the range of ${pair(judged.ranges.alarm)}` : "";
}
