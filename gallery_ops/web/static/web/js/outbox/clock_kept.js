// How far was this tablet's clock off when the gallery answered last? Kept, so that a round which opens without
// the network, and a file saved from it, still say true times.

/** @typedef {{ms: number, at: number}} Measured  ms: device's clock behind the gallery's; at: by the device's clock */
/** @typedef {{get: (key: string) => Promise<any>, put: (key: string, value: Measured) => Promise<void>}} Kept */

const SAME_MS = 2_000;
const FRESH_MS = 600_000;

/**
 * What was measured, while it may still hold: a clock that stands before that moment was set since.
 * @param {Measured | undefined} measured
 * @param {Date} now
 * @returns {number | null}
 */
export function stillHolds(measured, now) {
  return measured && now.getTime() >= measured.at - SAME_MS ? measured.ms : null;
}

/**
 * @param {Kept} kept
 * @param {string} key
 * @param {() => Date} now
 * @returns {Promise<{offsetMs: number | null, keep: (ms: number) => Promise<void>}>} keep: writes what is new, at most
 *   every ten minutes what is the same
 */
export async function keptClock(kept, key, now) {
  let last = /** @type {Measured | undefined} */ (await kept.get(key));
  return {
    offsetMs: stillHolds(last, now()),
    keep: async (ms) => {
      const at = now().getTime();
      if (last && Math.abs(last.ms - ms) <= SAME_MS && Math.abs(at - last.at) < FRESH_MS) return;
      last = { ms, at };
      await kept.put(key, last);
    },
  };
}
