// What does a verdict mean for the entry it stands beside?

const LET_GO = ["noted", "refused", "withdrawn"];

/**
 * @param {{verdict: import("./store.js").Verdict | null}} kept
 * @returns {boolean} the gallery has it and waits for nobody, now or before
 */
export function isTaken({ verdict }) {
  return verdict !== null && ["accepted", "duplicate", ...LET_GO].includes(verdict.verdict);
}

/**
 * @param {{verdict: import("./store.js").Verdict | null}} kept
 * @returns {boolean} a person decided that it does not count
 */
export function isLetGo({ verdict }) {
  return verdict !== null && LET_GO.includes(verdict.verdict);
}
