// A tap of an emergency, as an entry. Each says all of its emergency: any of them may arrive first.

/** @typedef {{id: string, card: string, drill: boolean}} Which */
/** @typedef {import("../emergencies.js").Place} Place */
/** @typedef {import("../../outbox/envelope.js").Draft} Draft */

/** @param {Which} which */
function all({ id, card, drill }) {
  return { incident: id, card, drill };
}

/**
 * @param {Which} which
 * @returns {Draft}
 */
export function open(which) {
  return { kind: "incident_open", body: { ...all(which), place: null } };
}

/**
 * @param {Which} which
 * @param {"joined" | "place" | "done" | "out" | "rung" | "wrote"} kind
 * @param {{line?: number, text?: string, place?: Place}} [more]
 * @returns {Draft}
 */
export function step(which, kind, { line, text, place } = {}) {
  return { kind: "incident_step", body: { ...all(which), step: kind, line: line ?? null, text: text ?? null, place: place ?? null } };
}

/**
 * @param {Which} which
 * @param {string | null} decidedBy  by name; null: it was nothing
 * @returns {Draft}
 */
export function close(which, decidedBy) {
  return { kind: "incident_close", body: { ...all(which), how: decidedBy === null ? "nothing" : "over", decided_by: decidedBy } };
}
