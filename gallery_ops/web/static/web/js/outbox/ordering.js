// Which entries of the outbox does a person see first?

import { isTaken } from "./verdicts.js";

/** @typedef {import("./store.js").Kept} Kept */

/**
 * @param {Kept[]} kept  oldest first
 * @returns {{people: Kept[], waiting: Kept[], taken: Kept[], decided: Kept[]}} each newest first; decided: what a person settled
 */
export function ordered(kept) {
  const newest = [...kept].reverse();
  return {
    people: newest.filter((one) => one.verdict && !isTaken(one)),
    waiting: newest.filter((one) => !one.verdict),
    taken: newest.filter((one) => isTaken(one) && !one.verdict?.decided_at),
    decided: newest.filter((one) => isTaken(one) && one.verdict?.decided_at),
  };
}
