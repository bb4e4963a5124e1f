// What waits here, and what the gallery said to each entry of this round.

import { button, h } from "./dom.js";
import { tabletWords } from "./offline.js";
import { topLine } from "./top_line.js";
import { verdictWords } from "./words.js";
import { vessel } from "./marks.js";

/** @type {Record<string, string>} */
const WHAT = { check: "look", unable: "could not measure", dose: "dose", feed: "food", complete: "done", skip: "skip", animal: "animal", note: "note", undo: "taken back", round_open: "round opened", stop_leave: "left half done", round_close: "round closed", weigh: "weighing" };

/**
 * @param {import("./app.js").App} app
 * @returns {Node[]}
 */
export function outboxScreen(app) {
  const { log } = app.round;
  const rank = (/** @type {import("../outbox/store.js").Kept} */ kept) => (!kept.verdict ? 1 : ["accepted", "duplicate"].includes(kept.verdict.verdict) ? 2 : 0);
  const rows = [...log].reverse().sort((a, b) => rank(a) - rank(b));
  const waiting = log.filter((kept) => !kept.verdict).length;
  const people = log.filter((kept) => rank(kept) === 0).length;
  const signIn = app.signIn();
  const said = [waiting ? `${waiting} not sent` : "", people ? `${people} ${people === 1 ? "needs" : "need"} a person` : ""].filter(Boolean).join(", ");
  const where = app.holds() === "tablet" ? "on this tablet" : "in this page; leave it open until they are sent";
  return [
    topLine(app, "what waits here"),
    h("h1", { class: "lede ob-h", tabindex: -1, "data-key": "title" }, h("b", {}, `${said || "All sent"}.`), waiting ? ` Kept ${where}.` : people ? " The manager has the same list." : " Nothing waits here."),
    h("div", { class: "acts" }, signIn && h("a", { class: "btn btn-wet", href: signIn, target: "_blank", rel: "noopener" }, "Sign in, in another window"), button("Try now", () => app.sendNow(), { class: "btn btn-act btn-wet" }), button("Back to the round", () => app.open(null), { class: "btn btn-wet" })),
    h(
      "ul",
      { class: "rows" },
      rows.map((kept) => {
        const stop = app.round.stopById(kept.action.stop_id);
        return h("li", { class: "obrow" }, h("span", {}, app.words.time(app.round.corrected(kept.action.done_at))), h("b", {}, stop ? app.round.codeOf(stop) : ""), h("span", {}, WHAT[kept.action.kind] ?? kept.action.kind), h("span", { class: "note" }, vessel(!kept.verdict ? "to_do" : rank(kept) === 2 ? "done" : "held"), ` ${verdictWords(kept)}`));
      }),
    ),
    !rows.length ? h("p", {}, "Nothing was entered on this page yet.") : h("p", { class: "hint" }, app.holds() === "tablet" ? "Sent entries stay on this tablet for 14 days." : "Sent entries stay in this list until the page is closed."),
    ...(app.holds() === "tablet" ? [h("ul", { class: "rows", "aria-label": "This tablet" }, tabletWords().map((sentence) => h("li", { class: "hint" }, sentence)))] : []),
  ];
}
