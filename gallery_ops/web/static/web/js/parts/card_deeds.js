// What a press on a card's page says, as the entries of a tablet.

import * as incident from "../round/kinds/incident.js";

/**
 * @param {{id: string, card: string, drill: boolean}} which
 * @param {Record<string, any>} given  fields of the form, `deed` among them
 * @param {boolean} isRunning  false: this press opens it
 * @returns {import("../outbox/envelope.js").Draft[] | null} null: something is missing
 */
export function draftsOf(which, given, isRunning) {
  const [name, ...rest] = String(given.deed).split(":");
  const said = step(which, name, rest.join(":"), given);
  if (said === null) return null;
  return isRunning ? [said] : [incident.open(which), said];
}

/** @param {{id: string, card: string, drill: boolean}} which @param {string} name @param {string} value @param {Record<string, any>} given */
function step(which, name, value, given) {
  const text = String(given.text ?? "").trim();
  const by = String(given.decided_by ?? "").trim();
  const [kind, ...key] = String(given.place ?? "").split(":");
  switch (name) {
    case "line":
      return incident.step(which, "done", { line: Number(value) });
    case "ring":
      return incident.step(which, "rung", { text: value });
    case "out":
      return incident.step(which, "out", { text: value });
    case "join":
      return incident.step(which, "joined");
    case "write":
      return text ? incident.step(which, "wrote", { text }) : null;
    case "place":
      return kind === "tank" || kind === "room" || kind === "gallery" ? incident.step(which, "place", { place: { kind, key: key.join(":") || null } }) : null;
    case "over":
      return by ? incident.close(which, by) : null;
    case "nothing":
      return incident.close(which, null);
    default:
      return null;
  }
}
