// An entry put right: moved to the tank where it was done, or another number; how it reads until the gallery has said so.

/** @typedef {import("../pack.js").Stop} Stop */
/** @typedef {import("../pack.js").Entry} Entry */
/** @typedef {{entry: Entry, stop: Stop}} Stands */

export const ANOTHER_TANK = "Done at another tank than it was entered for";
const MOVABLE = new Set(["check", "unable", "dose", "feed", "complete", "skip", "animal", "note"]);

/**
 * @param {Stop} stop  where it stands now
 * @param {Entry} entry
 * @param {string} tank  code of the right one
 * @param {string} [reason]
 * @returns {import("../../outbox/envelope.js").Draft}
 */
export function moveDraft(stop, entry, tank, reason = ANOTHER_TANK) {
  return { kind: "move_record", stop_id: stop.id, task_id: entry.task_id, corrects: entry.action_id, body: { moves: entry.action_id, tank, reason } };
}

/**
 * @param {Stop} stop
 * @param {Entry} entry
 * @param {Record<string, number | string>} changes  what was meant
 * @param {string} reason
 * @returns {import("../../outbox/envelope.js").Draft}
 */
export function amendDraft(stop, entry, changes, reason) {
  return { kind: "amend", stop_id: stop.id, task_id: entry.task_id, corrects: entry.action_id, body: { amends: entry.action_id, changes, reason } };
}

/** @param {{kind: string}} entry */
export function canMove(entry) {
  return MOVABLE.has(entry.kind);
}

/**
 * Of which number an entry may be put right, in which unit, and what is written.
 * @param {Entry} entry
 * @returns {{field: "presses" | "given_ul" | "given_mg" | "value", unit: string, now: string} | null}
 */
export function numberOf({ kind, body }) {
  if (kind === "dose" && body.presses) return { field: "presses", unit: "presses", now: String(body.presses) };
  if (kind === "dose") return { field: "given_ul", unit: "mL", now: String(body.given_ul / 1000) };
  if (kind === "feed") return { field: "given_mg", unit: "g", now: String(body.given_mg / 1000) };
  return kind === "check" && /^[-\d]/.test(body.value) ? { field: "value", unit: body.unit ?? "", now: body.value } : null;
}

/**
 * @param {Entry} entry
 * @param {Record<string, any>} changes
 */
function amended({ kind, body }, changes) {
  const made = { ...body, ...changes, text: null };
  if (kind !== "dose") return made;
  if ("presses" in changes) return { ...made, short: null, given_ul: changes.presses * (body.per_press_ul ?? 0) };
  return { ...made, short: null, presses: null };
}

/**
 * What was moved to a stop or put right there on this tablet, as it reads now.
 * @param {Stop} stop
 * @param {Stop[]} stops
 * @param {Entry[]} here  everything that was entered on this tablet, oldest first, each with its stop where it has one
 * @returns {Entry[]}
 */
export function correctedHere(stop, stops, here) {
  /** @type {Map<string, Stands>} */
  const stands = new Map(stops.flatMap((one) => one.entries.map((entry) => [entry.action_id, { entry, stop: one }])));
  return here.flatMap((entry) => {
    const before = stands.get(entry.body?.moves ?? entry.body?.amends);
    if (!["move_record", "amend"].includes(entry.kind)) {
      const at = stops.find((one) => one.id === /** @type {any} */ (entry).stop_id);
      if (at && !stands.has(entry.action_id)) stands.set(entry.action_id, { entry, stop: at });
      return [];
    }
    if (!before || entry.verdict === "held" || stands.has(entry.action_id)) return [];
    const now = entry.kind === "amend" ? { entry: { ...before.entry, body: amended(before.entry, entry.body.changes) }, stop: before.stop } : moved(before, stops, entry.body.tank);
    if (!now) return [];
    const made = { ...now.entry, action_id: entry.action_id, corrects: before.entry.action_id, became: undefined, verdict: undefined };
    stands.set(entry.action_id, { entry: made, stop: now.stop });
    return now.stop.id === stop.id ? [made] : [];
  });
}

/**
 * @param {Stands} before
 * @param {Stop[]} stops
 * @param {string} tank
 * @returns {Stands | null} null: it went to a tank of another round
 */
function moved({ entry }, stops, tank) {
  const to = stops.find((one) => one.tank === tank);
  const from = stops.flatMap((one) => one.tasks).find((task) => task.id === entry.task_id);
  const task = from && to?.tasks.find((one) => one.code === from.code);
  return to ? { entry: { ...entry, task_id: task?.id ?? null }, stop: to } : null;
}
