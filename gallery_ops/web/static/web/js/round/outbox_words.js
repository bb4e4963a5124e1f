// The sentences of the outbox: how many wait and where, what lies between, what this tablet is like.

import { capital, count, spell } from "./words.js";

/** @typedef {import("../outbox/store.js").Kept} Kept */

/**
 * @param {number} waiting
 * @param {number} people
 * @param {"page" | "tablet"} holds
 * @param {number} [photos]  that wait
 * @param {import("../outbox/sender.js").State} [state]
 * @returns {{strong: string, rest: string}}
 */
export function headline(waiting, people, holds, photos = 0, state = "soon") {
  const need = `${capital(count(people))} ${people === 1 ? "entry needs" : "entries need"} a person.`;
  const where = holds === "tablet" ? "on this tablet" : "in this page; leave it open until they are sent";
  if (waiting) return { strong: `${waiting} not sent. ${waiting === 1 ? "It is" : "All are"} kept ${where}.`, rest: [goes(waiting, state), people ? need : ""].filter(Boolean).join(" ") };
  if (people) return { strong: need, rest: `The manager has the same list. ${photos ? "All other entries are sent, photos still go." : "Everything else is sent."}` };
  if (photos) return { strong: "All entries are sent.", rest: `${photos === 1 ? "One photo is" : `${capital(count(photos))} photos are`} still to go.` };
  return { strong: "All sent.", rest: "Nothing waits here." };
}

/** Of a tablet whose list does not open. */
export const UNKNOWN = { strong: "What waits here cannot be known.", rest: "The browser does not open what this tablet keeps. This page throws nothing away." };

/**
 * What has to happen so that they go: mostly nothing.
 * @param {number} waiting
 * @param {import("../outbox/sender.js").State} state
 */
function goes(waiting, state) {
  const [they, by] = waiting === 1 ? ["It goes", "itself"] : ["They go", "themselves"];
  if (state === "stopped" || state === "unnoted") return "";
  return state === "sign_in" ? `${they} when you have signed in again.` : `${they} by ${by}${state === "away" ? " when the gallery answers" : ""}.`;
}

/**
 * What lies between the two shelves.
 * @param {import("../outbox/sender.js").State} state
 * @param {string | null} since  time of the oldest that waits
 * @returns {string[]}
 */
export function between(state, since) {
  /** @type {Record<import("../outbox/sender.js").State, string>} */
  const said = { resting: "nothing waits", soon: "about to go", sending: "being sent", away: "no answer", sign_in: "asks who is here", stopped: "could not read it", unnoted: "no room to note it" };
  return since && state !== "resting" ? [said[state], `since ${since}`] : [said[state]];
}

/**
 * @param {Date | null} next  when it tries by itself
 * @param {Date} now
 * @returns {string}
 */
export function nextTry(next, now) {
  if (!next || next <= now) return "";
  const seconds = Math.round((next.getTime() - now.getTime()) / 1000);
  return `Tries by itself again in ${seconds < 90 ? `${seconds} s` : `${Math.round(seconds / 60)} min`}.`;
}

const UNTOLD = { words: "the browser does not tell", full: false };
const GIB = 2 ** 30;

/**
 * Room on the tablet, as the browser tells it. Some give every page the same answer, so as to give nothing away:
 * nothing used, or whole gibibytes left to the byte. That is no figure.
 * @param {{free: number | null, quota: number | null}} room  bytes
 * @returns {{words: string, full: boolean}} full: from 80 % on
 */
export function roomWords({ free, quota }) {
  if (free === null || !quota || quota <= free || (free > 0 && free % GIB === 0)) return UNTOLD;
  const used = Math.round(((quota - free) / quota) * 100) || "less than 1";
  const left = free >= 1e9 ? `${(free / 1e9).toFixed(1)} GB` : free < 1e6 ? "less than 1 MB" : `${Math.floor(free / 1e6)} MB`;
  return { words: `${left}, ${used} % used`, full: (quota - free) / quota >= 0.8 };
}

/**
 * @param {number | null} offsetMs  device's clock behind the gallery's
 * @param {boolean} [isOfBefore]  measured before this page was opened
 * @returns {string}
 */
export function clockWords(offsetMs, isOfBefore = false) {
  if (offsetMs === null) return "not compared since this page was opened";
  const off = Math.abs(offsetMs);
  const then = isOfBefore ? " when last compared" : "";
  if (off <= 2_000) return `right within 2 s${then}`;
  const spelled = off < 120_000 ? `${Math.round(off / 1000)} s` : spell(off);
  return `${spelled} ${offsetMs > 0 ? "slow" : "fast"}${then}; times are put right when they are sent`;
}

/**
 * The last row of a list that is cut.
 * @param {string[]} times  of what is not shown, newest first
 * @returns {string} "Six more, 07:46 to 07:49"
 */
export function moreWords(times) {
  const [newest, oldest] = [times[0], times.at(-1)];
  return `${capital(count(times.length))} more, ${oldest === newest ? newest : `${oldest} to ${newest}`}`;
}

/**
 * What the gallery asked to have again, and why.
 * @param {number} again
 * @returns {string} empty for none
 */
export function againWords(again) {
  if (!again) return "";
  return `The gallery computer came back without all that it had: ${again === 1 ? "one entry is" : `${again} entries are`} sent once more from here. What it has already is not counted twice.`;
}

/** What the gallery asked to have again could not be noted. */
export const OWING = "The gallery computer came back without all that it had, and this tablet has no room to note what is to be sent again. Nothing is lost: it is all still here. Make room on this tablet; it tries again by itself.";
