// An entry moved to the tank where it was done; how it reads there until the gallery has said so.

/** @typedef {import("../pack.js").Stop} Stop */
/** @typedef {import("../pack.js").Entry} Entry */

/**
 * @param {Stop} stop  where it stands now
 * @param {Entry} entry
 * @param {string} tank  code of the right one
 * @returns {import("../../outbox/envelope.js").Draft}
 */
export function moveDraft(stop, entry, tank) {
  return { kind: "move_record", stop_id: stop.id, task_id: entry.task_id, corrects: entry.action_id, body: { moves: entry.action_id, tank, reason: "Done at another tank than it was entered for" } };
}

/**
 * What was moved to a stop on this tablet.
 * @param {Stop} stop
 * @param {Stop[]} stops
 * @param {Entry[]} here  everything that was entered on this tablet, oldest first
 * @returns {Entry[]}
 */
export function movedHere(stop, stops, here) {
  const all = new Map([...stops.flatMap((one) => one.entries), ...here].map((entry) => [entry.action_id, entry]));
  return here.flatMap((move) => {
    if (move.kind !== "move_record" || move.body.tank !== stop.tank || move.verdict === "held") return [];
    const entry = all.get(move.body.moves);
    if (!entry || entry.kind === "move_record") return [];
    const from = stops.flatMap((one) => one.tasks).find((task) => task.id === entry.task_id);
    const task = from && stop.tasks.find((one) => one.code === from.code);
    return [{ ...entry, action_id: move.action_id, corrects: entry.action_id, task_id: task?.id ?? null, became: undefined, verdict: undefined }];
  });
}
