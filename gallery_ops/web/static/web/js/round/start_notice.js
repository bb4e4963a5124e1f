// What is said once, before the first entry of a round, where the window may forget what is entered?
// No browser says "private": there are hints only, and no more than they tell is said.

import { button, h } from "./dom.js";

/** @typedef {import("./app.js").App} App */

/** Private windows of some browsers have about so much at most [bytes]. */
const LITTLE_BYTES = 120e6;

/**
 * @param {{stays: boolean | null, installed: boolean, quota: number | null}} tablet
 * @param {{isSecure: boolean, hasWorker: boolean}} browser
 * @returns {{strong: string, text: string} | null} null: it was promised to last, or the browser cannot be asked
 */
export function forgetting({ stays, installed, quota }, { isSecure, hasWorker }) {
  if (installed || stays) return null;
  const hint = isSecure && !hasWorker ? "It opens nothing without the network" : quota !== null && quota < LITTLE_BYTES ? "It has little room" : null;
  if (stays === null && !hint) return null;
  const go = "Better open the gallery by its picture on the first screen, or in an ordinary window. If you go on here, leave the window open until all is sent.";
  if (hint) return { strong: "This may be a private window.", text: `${hint}, as private windows do. If it is one, closing it loses what is not sent. ${go}` };
  return { strong: "Is this a private window?", text: `Closing one loses what is not sent, and the browser has promised nothing. ${go}` };
}

/** @param {App} app @returns {Node | null} */
export function startNotice(app) {
  if (!app.warned || !app.round.canKeep) return null;
  return h("div", { class: "notice told", role: "note" }, h("p", {}, h("b", {}, app.warned.strong), " ", app.warned.text), button("Understood", () => app.understood(), { "data-key": "understood" }));
}
