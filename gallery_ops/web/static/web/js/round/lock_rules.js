// When does a tablet lock itself, and how long does a name rest? Nothing here reads a clock.

export const IDLE_MS = 600_000;
export const MOST_WRONG = 5;
export const REST_MS = 300_000;
const SET_BACK_MS = 60_000;

/**
 * A moment by both clocks of the tablet: the one on the wall, and the one that counts since the page was opened.
 * @typedef {{wall: number, counted: number, page: string}} Moment  milliseconds; page names the page that counted
 */

/**
 * Has nobody touched the tablet for ten minutes? The longer of both clocks counts, so that neither a
 * tablet that slept nor a wall clock set back keeps it open.
 * @param {Moment} touched
 * @param {Moment} now
 */
export function isIdle(touched, now) {
  const wall = now.wall - touched.wall;
  if (now.page !== touched.page) return wall >= IDLE_MS || wall < -SET_BACK_MS;
  return Math.max(wall, now.counted - touched.counted) >= IDLE_MS;
}

/**
 * Wrong tries of one person on this tablet since the last right one.
 * @typedef {{wrong: number, left_ms: number, until_ms: number}} Tries  left_ms: of the rest, counted while a page is open; until_ms: its end by the wall clock
 */

/** @type {Tries} */
export const NONE = { wrong: 0, left_ms: 0, until_ms: 0 };

/**
 * @param {Tries} tries
 * @param {number} wall
 * @returns {Tries} after one more wrong try
 */
export function afterWrong(tries, wall) {
  const wrong = tries.wrong + 1;
  return wrong % MOST_WRONG ? { ...tries, wrong } : { wrong, left_ms: REST_MS, until_ms: wall + REST_MS };
}

/**
 * Time that a page has counted. A wall clock that was set back gets the end of the rest anew.
 * @param {Tries} tries
 * @param {number} passed
 * @param {number} wall
 * @returns {Tries}
 */
export function afterTime(tries, passed, wall) {
  const left_ms = Math.max(0, tries.left_ms - Math.max(0, passed));
  return { ...tries, left_ms, until_ms: Math.min(tries.until_ms, wall + left_ms) };
}

/**
 * How long this name still rests here [ms]: the larger of what the wall clock and the count say, so
 * that no change of the wall clock shortens it.
 * @param {Tries} tries
 * @param {number} wall
 */
export function restLeft(tries, wall) {
  return Math.max(0, tries.left_ms, Math.min(REST_MS, tries.until_ms - wall));
}

/** @param {Tries} tries @returns {number} tries before the name rests */
export function triesLeft(tries) {
  return MOST_WRONG - (tries.wrong % MOST_WRONG);
}

/** @param {number} left_ms @returns {string} */
export function restWords(left_ms) {
  return `Five wrong tries: this name rests on this tablet. Try again in ${Math.max(1, Math.ceil(left_ms / 60_000))} min; others can sign in.`;
}
