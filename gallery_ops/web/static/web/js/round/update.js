// May a new version of the pages take over? Only when no round is open here and nothing waits.

/** @typedef {{rounds: Record<string, number>, waiting: number}} Busy  rounds: open ones, with when that was last seen */

export const LONGEST_ROUND_MS = 20 * 3_600_000;

/**
 * What this page knows, added to what the pages of this tablet wrote down before.
 * @param {Busy | undefined} before
 * @param {{round: string, isOpen: boolean, waiting: number, now: number}} page
 * @returns {Busy}
 */
export function busyAfter(before, { round, isOpen, waiting, now }) {
  const rounds = Object.fromEntries(Object.entries(before?.rounds ?? {}).filter(([id, at]) => id !== round && at > now - LONGEST_ROUND_MS));
  if (isOpen) rounds[round] = now;
  return { rounds, waiting };
}

/** @param {Busy} busy @param {number} now */
export function mayUpdate({ rounds, waiting }, now) {
  return waiting === 0 && Object.values(rounds).every((at) => at <= now - LONGEST_ROUND_MS);
}

/**
 * What the outbox says of a new version; empty when there is none.
 * @param {boolean} isThere @param {Busy} busy @param {number} now
 */
export function updateWords(isThere, busy, now) {
  if (!isThere) return "";
  if (mayUpdate(busy, now)) return "A new version of these pages is here and is being taken.";
  return busy.waiting ? "A new version waits until the round is closed and everything is sent." : "A new version waits until the round is closed.";
}

/**
 * Writes down what is busy, and asks the new version to take over where that may be.
 * @param {{store: import("./lock_store.js").LockStore, page: Parameters<typeof busyAfter>[1], registration: ServiceWorkerRegistration | undefined}} parts
 * @returns {Promise<string>} what to say
 */
export async function lookForUpdate({ store, page, registration }) {
  const busy = busyAfter(/** @type {Busy | undefined} */ (await store.get("busy")), page);
  await store.put("busy", busy);
  const fresh = registration?.waiting;
  if (fresh && mayUpdate(busy, page.now)) fresh.postMessage("take over");
  else if (mayUpdate(busy, page.now)) registration?.active?.postMessage("take over"); // it began by itself during a round
  return updateWords(Boolean(fresh), busy, page.now);
}
