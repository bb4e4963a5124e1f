// Who carries to the gallery what waits here? The same two for every page: entries first, photos last.

import { keptClock } from "./clock_kept.js";
import { PhotoSender } from "./photo_sender.js";
import { Sender } from "./sender.js";

/** @typedef {import("./sender.js").Store} Store */

/**
 * What a tablet remembers beside its entries, from page to page.
 * @typedef {{get: (key: string) => Promise<any>, put: (key: string, value: unknown) => Promise<void>}} Kept
 */

/**
 * @typedef {object} Parts
 * @property {Store} store
 * @property {Kept} kept
 * @property {string} address  of the gallery's outbox
 * @property {Record<string, string>} headers
 * @property {string} deviceId
 * @property {string} bootId
 * @property {string} epoch  of the gallery's database as this page heard of it; empty where it did not: what is kept
 *   here is then offered again, unless the tablet remembers one
 * @property {{now: () => Date, monotonic: () => number}} clock
 */

/**
 * @param {Parts} parts
 * @returns {Promise<{sender: Sender, photoSender: PhotoSender, offsetMs: number | null}>} and by how much this clock is off, as
 *   the tablet remembers [ms]
 */
export async function makeSenders({ store, kept, address, headers, deviceId, bootId, epoch, clock }) {
  const key = `epoch ${deviceId}`;
  const known = /** @type {string | undefined} */ (await kept.get(key));
  if (!known && epoch) await kept.put(key, epoch);
  const { offsetMs, keep: keepOffset } = await keptClock(kept, `clock ${deviceId}`, clock.now);
  /** @type {import("./sender.js").World} */
  const world = { fetch: (...given) => fetch(...given), now: clock.now, monotonic: clock.monotonic, random: Math.random, later: (f, ms) => setTimeout(f, ms), never: (timer) => clearTimeout(/** @type {number} */ (timer)), locks: navigator.locks ?? null };
  const photos = new URL("photos/", new URL(address, location.href)).pathname;
  return {
    sender: new Sender({ store, address, headers, deviceId, bootId, epoch: known ?? epoch, keepEpoch: (next) => kept.put(key, next), offsetMs, keepOffset, world }),
    photoSender: new PhotoSender({ store, address: photos, headers, deviceId, world }),
    offsetMs,
  };
}
