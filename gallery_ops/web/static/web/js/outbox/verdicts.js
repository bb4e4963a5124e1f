// What does a verdict mean for the entry it stands beside?

/**
 * @param {{verdict: import("./store.js").Verdict | null}} kept
 * @returns {boolean} the gallery has it, now or before
 */
export function isTaken({ verdict }) {
  return verdict !== null && ["accepted", "duplicate"].includes(verdict.verdict);
}
