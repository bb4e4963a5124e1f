// What does a person hear when the tablet did not keep something? Why, and what to do.

/** @typedef {{why: string, help: string}} Refusal */

const OTHER_VERSION = ["VersionError", "InvalidStateError"];

/** @param {unknown} error @returns {boolean} there was no room for it */
export function isFull(error) {
  return /** @type {Error | null} */ (error)?.name === "QuotaExceededError";
}

/**
 * @param {unknown} error  with which a store refused to write, or could not be opened
 * @returns {Refusal} sentences
 */
export function refusal(error) {
  const name = /** @type {Error | null} */ (error)?.name ?? "";
  if (isFull(error)) {
    return {
      why: "This tablet is full.",
      help: "Make room on it: delete films, pictures or apps that are not the gallery’s, but never the browser’s data, for what waits here goes with them. Then tap the same again: it is kept then, and counts once. Until then use another tablet, or paper.",
    };
  }
  if (OTHER_VERSION.includes(name) || /older version/.test(String(/** @type {Error | null} */ (error)?.message))) {
    return {
      why: "A page of another version was opened on this tablet.",
      help: "Close every other page of the gallery here, then load this one again. What was kept before stays.",
    };
  }
  return {
    why: "The browser does not let this page write.",
    help: "Close the browser, open it again and load this page. Never clear its data: what waits here goes with them. If that does not help, use another tablet, or paper, and tell the manager.",
  };
}

/**
 * The notice where a tap was not kept, or nothing can be kept.
 * @param {unknown} error
 * @returns {{strong: string, text: string}}
 */
export function notKept(error) {
  const { why, help } = refusal(error);
  return isFull(error) ? { strong: "Not kept: this tablet is full.", text: help } : { strong: "This tablet cannot keep entries.", text: `Nothing you tap now counts. ${why} ${help}` };
}

/**
 * @param {unknown} error  null: something else was being written, or the tablet was locked
 * @returns {string} of a photo that was not kept
 */
export function photoNotKept(error) {
  if (!error) return "The photo was not kept: the tablet was locked, or still writing. Take it again.";
  if (isFull(error)) return "The photo was not kept: this tablet is too full for it. Ticks and numbers are still kept. Let what waits be sent, or delete films and pictures that are not the gallery’s, then take it again.";
  const { why, help } = refusal(error);
  return `The photo was not kept. ${why} ${help}`;
}

/**
 * Why no photo is taken from 80 % on.
 * @param {string} room  as "200 MB, 83 % used"
 * @returns {string}
 */
export function photosRest(room) {
  return `No photo now: this tablet is nearly full (${room}). Ticks and numbers are kept as before. Let what waits be sent, or delete films and pictures that are not the gallery’s, then take it again.`;
}

/**
 * What a page that did not open knows of what was entered here before.
 * @param {{waiting: number} | null} counts  null: it could not be read
 * @param {"page" | "tablet"} holds
 * @returns {string}
 */
export function stillKept(counts, holds) {
  if (holds === "page") return "Nothing was entered in this page.";
  if (!counts) return "What waits on this tablet cannot be known now. This page has thrown nothing away; do not clear the browser’s data.";
  if (!counts.waiting) return "Nothing of this tablet waits.";
  return `${counts.waiting === 1 ? "One entry waits on this tablet and stays" : `${counts.waiting} entries wait on this tablet and stay`} here: ${counts.waiting === 1 ? "it is" : "they are"} sent as soon as a round opens on it again.`;
}
