// The page that the gallery served for a round: its element, what it says aloud, the tablet's clock.

/** Holds the addresses of the round as data attributes. */
export const page = /** @type {HTMLElement} */ (document.getElementById("main"));
export const voice = document.getElementById("said");
export const clock = { now: () => new Date(), monotonic: () => performance.now() };
