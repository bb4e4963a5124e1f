// One feeding: how much, and when it is asked about.

/** @typedef {import("../pack.js").Feed} Feed */

/**
 * More than twice the plan is asked about, more than five times is refused.
 * @param {Feed} feed
 * @param {number} mg
 * @returns {null | "ask" | "refuse"}
 */
export function asks(feed, mg) {
  if (mg > 5 * feed.planned_mg) return "refuse";
  return mg > 2 * feed.planned_mg ? "ask" : null;
}

/**
 * @param {import("../pack.js").Stop} stop
 * @param {Feed} feed
 * @param {number} mg
 * @param {string | null} text  as typed
 * @returns {import("../../outbox/envelope.js").Draft}
 */
export function draft(stop, feed, mg, text) {
  return {
    kind: "feed",
    stop_id: stop.id,
    task_id: feed.task,
    plan_version: feed.plan_version,
    body: { product: feed.product, source: feed.source, planned_mg: feed.planned_mg, given_mg: mg, turns: null, text, seen_to_drop: null },
  };
}
