// The outbox as a file: what the gallery does not have yet, in the envelopes in which it would be sent.

import { wallClock } from "./envelope.js";
import { isTaken } from "./verdicts.js";

/** By this the gallery knows the file. */
export const FORMAT = "gallery-ops-outbox";

/**
 * @param {{deviceId: string, epoch: string, bootId: string, at: Date, offsetMs: number | null, kept: import("./store.js").Kept[]}} parts
 *   offsetMs: device's clock behind the gallery's, as last measured; null when it never was
 * @returns {{text: string, entries: number}}
 */
export function savedFile({ deviceId, epoch, bootId, at, offsetMs, kept }) {
  const actions = kept.filter((one) => !isTaken(one)).map(({ action }) => action);
  const file = { format: FORMAT, schema: 1, device_id: deviceId, epoch, boot_id: bootId, saved_at: wallClock(at), offset_ms: offsetMs === null ? null : Math.round(offsetMs), entries: actions.length, actions };
  return { text: JSON.stringify(file), entries: actions.length };
}

/**
 * @param {string} showroom
 * @param {string} deviceId
 * @param {Date} at
 * @returns {string} as "undershore-1a2b3c4d-2026-03-12-0811.json"
 */
export function fileName(showroom, deviceId, at) {
  const plain = (/** @type {string} */ text) => text.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "");
  const said = wallClock(at);
  return `${plain(showroom) || "gallery"}-${plain(deviceId).slice(0, 8)}-${said.slice(0, 10)}-${said.slice(11, 16).replace(":", "")}.json`;
}
