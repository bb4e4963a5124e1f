// The notice of a tap that was not kept: why, what to do, and the ways on.

import { button, h } from "./dom.js";
import { isFull, notKept } from "./refusals.js";

/** @typedef {import("./app.js").App} App */

/** As round.css lays two columns: there is room under the drawing, at the height of the thumb. */
const LYING = "(orientation: landscape) and (min-width: 60rem) and (max-height: 60rem)";

/** @returns {boolean} the notice stands in the left column, so that looks, ticks and foot stay in one view */
export function standsLeft() {
  return matchMedia(LYING).matches;
}

/** @param {App} app @returns {HTMLElement} */
export function refusedNotice(app) {
  const { refused } = app.round;
  const { strong, text } = notKept(refused);
  return h(
    "div",
    { class: "notice loud refused", role: "alert", "data-key": "refused" },
    h("p", {}, h("b", {}, strong), " ", text),
    h("div", { class: "acts" }, isFull(refused) ? null : button("Load this page again", () => location.reload(), { class: "btn btn-wet" }), h("a", { class: "btn btn-wet", href: app.addresses.paper }, "Take the paper round")),
  );
}

/**
 * Puts it where the thumb has just been; what was typed and what is open stay as they are, to be tapped again.
 * @param {App} app
 * @param {HTMLElement} page
 * @returns {boolean} there was a place for it
 */
export function showRefused(app, page) {
  for (const tick of page.querySelectorAll(".tick[data-asked]")) tick.removeAttribute("data-asked");
  page.querySelector(".told")?.remove();
  const notice = refusedNotice(app);
  const old = page.querySelector('[data-key="refused"]');
  const first = page.querySelector(".stop-do");
  const since = /** @type {HTMLElement | null} */ (standsLeft() ? page.querySelector(".since") : null);
  const walked = page.querySelector(".close > .stop-walk, .close > .hand");
  if (old) old.replaceWith(notice);
  else if (since) {
    since.hidden = false;
    since.append(notice);
  } else if (first) first.prepend(notice);
  else if (walked) walked.before(notice);
  else return false;
  page.classList.add("cannot");
  notice.scrollIntoView({ block: "nearest" });
  return true;
}
