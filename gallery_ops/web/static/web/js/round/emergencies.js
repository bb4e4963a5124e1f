// Emergencies as their taps tell them: from the pack and from what was tapped here, in any order.

/**
 * @typedef {{kind: "tank" | "room" | "gallery", key: string | null}} Place  key: code of the tank, id of the room
 * @typedef {{action_id: string, kind: string, line: number | null, text: string, place: Place | null, at: string, by: string}} Tap
 * @typedef {{id: string, name: string, tanks: string[], hanging: string[]}} Room
 * @typedef {object} Emergency
 * @property {string} id
 * @property {string} card  its code
 * @property {boolean} drill
 * @property {string} openedAt
 * @property {string} by
 * @property {Place | null} place
 * @property {Map<number, string>} lines  when each was first done
 * @property {Map<string, string>} out  who was seen outside, and when
 * @property {Map<string, string[]>} rung  when each number was rung
 * @property {string | null} closedAt
 * @property {boolean} wasNothing
 * @property {Tap[]} taps  the timeline, each once
 */

const ENDS = ["over", "nothing"];

/** @param {{kind: string}} action */
export function isOfEmergency({ kind }) {
  return kind.startsWith("incident_");
}

/**
 * @param {import("./pack.js").Entry} entry  an action of an emergency, its time corrected
 * @param {string} by
 * @returns {Tap}
 */
export function tapOf({ action_id, kind, body, done_at }, by) {
  const what = kind === "incident_open" ? "opened" : kind === "incident_close" ? body.how : body.step;
  return { action_id, kind: what, line: body.line ?? null, text: body.text ?? body.decided_by ?? "", place: body.place ?? null, at: done_at, by };
}

/**
 * What the taps of one emergency say together, whatever the order in which they came.
 * @param {{id: string, card: string, drill: boolean}} which
 * @param {Tap[]} taps  at least one
 * @returns {Emergency}
 */
export function emergencyOf({ id, card, drill }, taps) {
  const once = new Map(taps.map((tap) => [tap.action_id, tap]));
  const line = [...once.values()].sort((a, b) => Date.parse(a.at) - Date.parse(b.at) || (a.action_id < b.action_id ? -1 : 1));
  const lines = new Map();
  const out = new Map();
  const rung = new Map();
  for (const tap of line) {
    if (tap.kind === "done" && tap.line !== null && !lines.has(tap.line)) lines.set(tap.line, tap.at);
    if (tap.kind === "out" && !out.has(tap.text)) out.set(tap.text, tap.at);
    if (tap.kind === "rung") rung.set(tap.text, [...(rung.get(tap.text) ?? []), tap.at]);
  }
  const end = line.find((tap) => ENDS.includes(tap.kind));
  const first = line.find((tap) => tap.kind === "opened") ?? line[0];
  return { id, card, drill, openedAt: line[0].at, by: first.by, place: line.findLast((tap) => tap.place)?.place ?? null, lines, out, rung, closedAt: end?.at ?? null, wasNothing: end?.kind === "nothing", taps: line };
}

/**
 * @param {{id: string, card: string, drill: boolean, taps: Tap[]}[]} open  from the gallery
 * @param {{entry: import("./pack.js").Entry, by: string}[]} here  tapped on this tablet
 * @returns {Emergency[]} oldest first
 */
export function emergencies(open, here) {
  /** @type {Map<string, {id: string, card: string, drill: boolean, taps: Tap[]}>} */
  const all = new Map(open.map((one) => [one.id, { ...one, taps: [...one.taps] }]));
  for (const { entry, by } of here) {
    const { incident, card, drill } = entry.body;
    const one = all.get(incident) ?? { id: String(incident), card: String(card), drill: Boolean(drill), taps: /** @type {Tap[]} */ ([]) };
    one.taps.push(tapOf(entry, by));
    all.set(incident, one);
  }
  return [...all.values()].filter((one) => one.taps.length).map((one) => emergencyOf(one, one.taps)).sort((a, b) => Date.parse(a.openedAt) - Date.parse(b.openedAt));
}

/**
 * Where giving, feeding and routine tasks rest. Until a tank or a room was said only a card for the
 * whole gallery stops anything: which tank it is, is not guessed.
 * @param {Emergency} emergency
 * @param {string | undefined} cardStops
 * @returns {Place | null}
 */
export function stopsWhere({ place, drill, closedAt }, cardStops) {
  if (drill || closedAt || !cardStops || cardStops === "nothing") return null;
  return place ?? (cardStops === "gallery" ? { kind: "gallery", key: null } : null);
}

/**
 * @param {Place | null} where
 * @param {string | null} tank  its code
 * @param {Room[]} rooms
 */
export function holdsTank(where, tank, rooms) {
  if (!where || !tank) return false;
  if (where.kind === "gallery") return true;
  if (where.kind === "tank") return where.key === tank;
  return rooms.some((room) => room.id === where.key && room.tanks.includes(tank));
}

/**
 * @param {Place | null} place
 * @param {Room[]} rooms
 * @returns {string} "T11", "North Room", "the whole gallery", or nothing
 */
export function placeWords(place, rooms) {
  if (!place) return "";
  if (place.kind === "gallery") return "the whole gallery";
  if (place.kind === "tank") return place.key ?? "";
  return rooms.find((room) => room.id === place.key)?.name ?? "a room";
}

/**
 * @param {number} ms
 * @returns {string} "2:14", above an hour "1:02:14"
 */
export function elapsed(ms) {
  const s = Math.max(0, Math.floor(ms / 1000));
  const two = (/** @type {number} */ n) => String(n).padStart(2, "0");
  const minutes = Math.floor(s / 60);
  return minutes < 60 ? `${minutes}:${two(s % 60)}` : `${Math.floor(minutes / 60)}:${two(minutes % 60)}:${two(s % 60)}`;
}
