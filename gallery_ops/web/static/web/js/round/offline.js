// Does this tablet open the round without a network, and if not, why not and what helps?

/**
 * @typedef {object} Tablet
 * @property {"yes" | "no" | "soon"} opens  without a network
 * @property {string} why  a sentence; empty when it opens
 * @property {boolean | null} stays  whether the browser promised to keep what is entered
 * @property {number | null} free  bytes; null where the browser does not say
 * @property {number | null} quota  bytes that may be used in all
 * @property {boolean} installed  opened by its picture on the first screen
 * @property {string} update  what to say of a new version; empty for none
 */

/** @type {Tablet} */
export const tablet = { opens: "soon", why: "", stays: null, free: null, quota: null, installed: false, update: "" };

/** How much room there is, as the browser says now; what it does not say stays unknown. */
export async function readRoom() {
  const { quota, usage } = (await navigator.storage?.estimate?.().catch(() => null)) ?? {};
  Object.assign(tablet, quota === undefined || usage === undefined ? { quota: null, free: null } : { quota, free: quota - usage });
}

/** Asks the browser to keep our things; some ask the person in turn. */
export async function askToStay() {
  const { storage } = navigator;
  tablet.installed = ["standalone", "fullscreen", "minimal-ui"].some((mode) => matchMedia(`(display-mode: ${mode})`).matches);
  await readRoom();
  if (storage?.persist) tablet.stays = (await storage.persisted().catch(() => false)) || (await storage.persist().catch(() => false));
}

/**
 * Registers the worker and asks it to keep this round.
 * @param {{worker: string, keep: string[]}} what
 * @returns {Promise<void>}
 */
export async function keepRound({ worker, keep }) {
  const { serviceWorker } = navigator;
  if (!globalThis.isSecureContext) {
    tablet.opens = "no";
    tablet.why = "This address begins with http, and a browser opens nothing from such an address without the network. What you enter is kept all the same: keep this page open in the basement. Under Tablets the manager finds how the gallery gets an address that begins with https.";
    return;
  }
  if (!serviceWorker) {
    tablet.opens = "no";
    tablet.why = "This browser opens nothing without the network, as in a private window. Use an ordinary window, or keep this page open.";
    return;
  }
  try {
    await serviceWorker.register(worker, { scope: "/" });
    const ready = await serviceWorker.ready;
    ready.active?.postMessage({ keep });
    tablet.opens = "yes";
  } catch (error) {
    tablet.opens = "no";
    tablet.why = `The browser did not take what it needs to open without the network (${/** @type {Error} */ (error).message}). Keep this page open, and tell the manager.`;
  }
}

/**
 * What the outbox says of this tablet.
 * @returns {string[]} sentences
 */
export function tabletWords() {
  const { opens, why, stays, free, update } = tablet;
  const megabytes = free === null ? null : Math.floor(free / 1e6);
  return [
    opens === "yes" ? "This round opens without the network too." : opens === "no" ? why : "Asking whether this round opens without the network.",
    stays === false ? "The browser may clear what is kept here when the tablet runs out of room or is not used for a week: put the gallery on the first screen of the tablet, and send often. A private window forgets everything when it is closed: send first." : stays ? "The browser keeps it until you clear it." : "",
    update,
    megabytes !== null && megabytes < 50 ? `Only ${megabytes} MB are free on this tablet: make room.` : "",
  ].filter(Boolean);
}
