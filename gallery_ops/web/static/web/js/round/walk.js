// All tanks in walking order on one floor: where you are, what is done, and the way to any of them.

import { s } from "./dom.js";
import { drawing, isFetched } from "./drawing.js";

/** @typedef {import("./pack.js").Tank & {isDoor?: true}} Place  a tank, or the door of a room */

const GAP = 14;
const LEAST = 52;
const WORD_WIDE = 84; // the word under a door
const FLOOR = 72;
const MORE = 90;
/** @type {Place} */
const DOOR = { code: "", title: null, width_mm: 380, depth_mm: 0, height_mm: 640, stop: null, state: "to_do", drawing: null, drawing_small: null, isDoor: true };
const MOST = 2_400; // [cm] what is still told apart on a tablet
const MOST_NARROW = 900; // [cm] and on a phone
/** @type {Record<import("./marks.js").StopMark, string>} */
const WORD = { to_do: "still to do", half: "half done", done: "done", skipped: "skipped", empty: "empty, passed by", held: "needs a person" };

/**
 * @param {import("./round.js").Round} round
 * @param {import("./pack.js").Stop | null} here
 * @returns {SVGElement}
 */
export function walk(round, here) {
  const tanks = placesOf(round.pack);
  const middle = tanks.findIndex((tank) => (here ? tank.stop === here.id : tank.stop !== null));
  const [from, to] = inSight(tanks, Math.max(0, middle), matchMedia("(max-width: 40rem)").matches ? MOST_NARROW : MOST);
  let x = 0;
  const more = (/** @type {number} */ count, /** @type {import("./pack.js").Tank | undefined} */ next, /** @type {string} */ where) => {
    if (!count || !next) return null;
    const left = x;
    x += MORE + GAP;
    return s("a", { href: next.stop ? `#${encodeURIComponent(next.code)}` : null, "aria-label": `+${count}, ${count} more ${where}` }, s("rect", { class: "ring", x: left, y: 0, width: MORE, height: 98 }), s("text", { class: "code", "font-size": 32, x: left + MORE / 2, y: 107 }, `+${count}`));
  };
  const before = more(from, tanks[from - 1], "before");
  const shown = tanks.slice(from, to).map((tank) => {
    const wide = tank.width_mm / 10;
    const slot = Math.max(tank.isDoor ? WORD_WIDE : LEAST, wide);
    const left = x;
    x += slot + GAP;
    return kept(round, tank, here, { left, slot, wide });
  });
  const slots = [before, shown, more(tanks.length - to, tanks[to], "after")];
  return s(
    "svg",
    { class: "wall", viewBox: `-4 -6 ${Math.max(x - GAP, LEAST) + 8} 118`, role: "group", "aria-label": "Where you are on the walk" },
    s("path", { class: "floor", d: `M-4 ${FLOOR}H${Math.max(x - GAP, LEAST) + 4}` }),
    slots,
  );
}

/**
 * Tanks, and behind the last tank of a room its door, in walking order.
 * @param {import("./pack.js").Pack} pack
 * @returns {Place[]}
 */
export function placesOf(pack) {
  /** @type {Map<string | null, Place[]>} */
  const after = new Map();
  let before = /** @type {string | null} */ (null);
  for (const stop of pack.stops) {
    if (stop.tank) before = stop.id;
    else after.set(before, [...(after.get(before) ?? []), { ...DOOR, code: stop.name ?? "", stop: stop.id }]);
  }
  return [...(after.get(null) ?? []), ...pack.tanks.flatMap((tank) => [tank, ...((tank.stop && after.get(tank.stop)) || [])])];
}

/**
 * Of a long walk the part around the tank in hand: slots stay wide enough to be read and pressed.
 * @param {{width_mm: number, isDoor?: true}[]} tanks
 * @param {number} middle
 * @param {number} [most]  [cm] that there is room for
 * @returns {[number, number]} from, to (without)
 */
export function inSight(tanks, middle, most = MOST) {
  const needs = (/** @type {number} */ i) => Math.max(tanks[i].isDoor ? WORD_WIDE : LEAST, tanks[i].width_mm / 10) + GAP;
  if (tanks.reduce((sum, _tank, i) => sum + needs(i), 0) <= most) return [0, tanks.length];
  let [from, to] = [middle, middle + 1];
  let sum = needs(middle) + 2 * (MORE + GAP);
  for (let grown = true; grown; ) {
    grown = false;
    if (to < tanks.length && sum + needs(to) <= most) {
      sum += needs(to);
      to += 1;
      grown = true;
    }
    if (from > 0 && sum + needs(from - 1) <= most) {
      from -= 1;
      sum += needs(from);
      grown = true;
    }
  }
  return [from, to];
}

/** Slots as they were drawn last: of two hundred, one tap changes two. @type {Map<string, {state: string, slot: SVGElement}>} */
const known = new Map();

/**
 * @param {import("./round.js").Round} round
 * @param {Place} tank
 * @param {import("./pack.js").Stop | null} here
 * @param {{left: number, slot: number, wide: number}} at
 */
function kept(round, tank, here, at) {
  const stop = round.stopById(tank.stop);
  const state = [stop ? round.stateOf(stop).mark : tank.state, stop !== null && stop.id === here?.id, isFetched(tank.drawing_small), at.left].join();
  const before = known.get(tank.code);
  if (before?.state === state) return before.slot;
  const slot = slotOf(round, tank, here, at);
  known.set(tank.code, { state, slot });
  return slot;
}

/**
 * @param {import("./round.js").Round} round
 * @param {Place} tank
 * @param {import("./pack.js").Stop | null} here
 * @param {{left: number, slot: number, wide: number}} at
 */
function slotOf(round, tank, here, { left, slot, wide }) {
  const stop = round.stopById(tank.stop);
  const mark = stop ? round.stateOf(stop).mark : tank.state;
  const isHere = stop !== null && stop.id === here?.id;
  const high = tank.height_mm / 10;
  const glass = left + (slot - wide) / 2;
  const top = FLOOR - high;
  const short = tank.isDoor ? "door" : tank.code.replace(/^[A-Za-z]+(?=\d)/, "");
  const label = `${short}, ${tank.code}${tank.title ? ` ${tank.title}` : ""}, ${isHere ? "here now, " : ""}${WORD[mark]}`;
  const centre = left + slot / 2;
  const bare = (/** @type {string} */ more) => s("path", { class: `bare${more}`, d: tank.isDoor ? `M${glass} ${FLOOR}V${top}H${glass + wide}V${FLOOR}M${glass + wide - 10} ${FLOOR - high / 2}h4` : `M${glass} ${top}V${FLOOR}H${glass + wide}V${top}` });
  const inside = {
    to_do: () => [bare("")],
    half: () => [s("rect", { class: "half", x: glass, y: FLOOR - high / 2, width: wide, height: high / 2 }), bare("")],
    done: () => [full(tank, glass, top, wide, high) ?? s("rect", { class: "half", x: glass, y: top + 2.5, width: wide, height: high - 2.5 }), bare("")],
    skipped: () => [bare(""), s("path", { class: "skip", d: `M${glass - 2} ${FLOOR}L${glass + wide + 2} ${top}` })],
    empty: () => [bare(" gone")],
    held: () => [bare(""), s("path", { class: "skip", d: `M${glass} ${top}H${glass + wide}` }), s("circle", { class: "pin", cx: centre, cy: FLOOR - high / 2, r: 5 })],
  };
  return s(
    stop ? "a" : "g",
    { class: isHere ? "here" : null, href: stop ? `#${encodeURIComponent(tank.code)}` : null, "aria-label": stop ? label : null, "aria-current": isHere ? "step" : null, role: stop ? null : "img", "data-key": stop ? `walk ${tank.code}` : null },
    stop ? null : s("title", {}, label),
    s("rect", { class: "ring", x: left, y: 0, width: slot, height: 98 }),
    inside[mark](),
    isHere && s("path", { class: "pin", d: `M${centre - 8} ${Math.max(top - 20, -5)}h16l-8 11Z` }),
    s("text", { class: "code", "font-size": 32, x: centre, y: 107 }, short),
  );
}

/**
 * @param {import("./pack.js").Tank} tank
 * @param {number} x
 * @param {number} y
 * @param {number} width
 * @param {number} height
 */
function full(tank, x, y, width, height) {
  const view = drawing(tank.drawing_small);
  if (!view) return null;
  view.classList.add("elev");
  for (const [name, value] of Object.entries({ x, y, width, height, preserveAspectRatio: "none", "aria-hidden": "true" })) view.setAttribute(name, String(value));
  view.setAttribute("viewBox", `0 0 ${width} ${height}`);
  view.removeAttribute("role");
  view.removeAttribute("aria-label");
  return view;
}
