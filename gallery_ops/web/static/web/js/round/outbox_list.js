// What waits here, and what the gallery said to each entry; and the file for a tablet that must go.

import { ordered } from "../outbox/ordering.js";
import { correctable } from "./correct.js";
import { button, h } from "./dom.js";
import { entryWords } from "./entry_words.js";
import { vessel } from "./marks.js";
import { tablet, tabletWords } from "./offline.js";
import { OWING, UNKNOWN, againWords, between, clockWords, headline, moreWords, nextTry, roomWords } from "./outbox_words.js";
import { photoWords } from "./photos.js";
import { refusedNotice } from "./refused.js";
import { shelves } from "./shelves.js";
import { topLine } from "./top_line.js";
import { capital, count, verdictWords } from "./words.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("../outbox/store.js").Kept} Kept */

const FIRST = 6;
const MOST_TAKEN = 20;

/**
 * @param {App} app
 * @returns {Node[]}
 */
export function outboxScreen(app) {
  const { people, waiting, taken, decided } = ordered(app.everything);
  if (app.shut) return shutList(app);
  const head = headline(waiting.length, people.length, app.holds(), app.photos.filter((photo) => photo.waits).length, app.sending().state);
  const room = roomWords(tablet);
  return [
    topLine(app, "what waits here"),
    h("h1", { class: "lede ob-h", tabindex: -1, "data-key": "title" }, h("b", {}, head.strong), head.rest && ` ${head.rest}`),
    drawn(app, waiting, people, taken),
    acts(app, people.length + waiting.length),
    app.sending().isOwing ? h("p", { class: "notice" }, OWING) : null,
    app.sending().offeredAgain ? h("p", { class: "notice" }, againWords(app.sending().offeredAgain)) : null,
    room.full ? h("p", { class: "notice" }, `This tablet is nearly full: ${room.words}. Photos wait first, entries never do. Save to a file now, then make room.`) : null,
    unpromised(app, waiting.length),
    ...needing(app, people),
    ...notSent(app, waiting),
    ...becameOf(app, decided),
    ...photos(app),
    ...sent(app, taken),
    !app.everything.length ? h("p", {}, "Nothing was entered here yet.") : null,
    file(app, people.length + waiting.length, room.full),
    state(app, room.words),
    h("div", { class: "stop-foot" }, button("Back to the round", () => app.open(null), { class: "btn btn-wet" })),
  ].filter((node) => node !== null);
}

/** The list does not open: nothing of it is called sent, or gone. @param {App} app @returns {Node[]} */
function shutList(app) {
  return [
    topLine(app, "what waits here"),
    h("h1", { class: "lede ob-h", tabindex: -1, "data-key": "title" }, h("b", {}, UNKNOWN.strong), ` ${UNKNOWN.rest}`),
    refusedNotice(app),
    h("div", { class: "stop-foot" }, button("Back to the round", () => app.open(null), { class: "btn btn-wet" })),
  ];
}

/** @param {App} app @param {Kept} kept */
function timeOf(app, { action }) {
  return app.words.moment(app.round.corrected(action.done_at), app.round.now());
}

/** @param {App} app @param {Kept[]} waiting @param {Kept[]} people @param {Kept[]} taken */
function drawn(app, waiting, people, taken) {
  const oldest = waiting.at(-1);
  const since = oldest ? timeOf(app, oldest) : null;
  const counts = { waiting: waiting.length, held: people.length, taken: taken.length };
  const parts = [oldest ? `${waiting.length} waiting, oldest ${since}` : "", people.length ? `${people.length} held` : ""].filter(Boolean);
  const there = taken.length ? `${taken.length} of this tablet, last ${timeOf(app, taken[0])}` : "none of this tablet yet";
  return shelves(counts, { here: parts.join(", and ") || "nothing", gap: between(oldest ? app.sending().state : "resting", since), there }, app.holds());
}

/** @param {App} app @param {number} unsent */
function acts(app, unsent) {
  const signIn = app.signIn();
  return h(
    "div",
    { class: "acts ob-acts" },
    signIn && h("a", { class: "btn btn-act btn-wet", href: signIn, target: "_blank", rel: "noopener" }, "Sign in, in another window"),
    button("Try now", () => app.sendNow(), { class: signIn ? "btn btn-wet" : "btn btn-act btn-wet", "data-key": "try now" }),
    unsent > 0 && button("Save to a file", () => app.save(), { class: "btn btn-wet", "data-key": "save" }),
    h("span", { class: "note" }, [nextTry(app.sending().nextAt, app.round.clock.now()), app.holds() === "tablet" ? "Signing out empties nothing." : ""].filter(Boolean).map((line, i) => [i ? h("br") : null, line])),
  );
}

/** Where the browser promised nothing, closing a private window takes what waits with it. @param {App} app @param {number} waiting */
function unpromised(app, waiting) {
  if (!waiting || app.holds() !== "tablet" || tablet.stays !== false) return null;
  return h("p", { class: "notice" }, h("b", {}, "Is this a private window? Closing it loses what waits."), " The browser has not promised to keep it. Send it or save it to a file first, and go on in an ordinary window.");
}

/** @param {App} app @param {Kept[]} people @returns {Node[]} */
function needing(app, people) {
  if (!people.length) return [];
  const rows = people.map((kept) => {
    const stop = app.round.stopById(kept.action.stop_id);
    return h("li", { class: "row" }, h("span", { class: "m-watch" }, vessel("held")), h("p", {}, h("b", {}, `${stop ? `${app.round.codeOf(stop)}: ` : ""}${entryWords(kept.action, app.round.pack, app.words)}`), h("br"), h("span", { class: "note" }, `Written ${timeOf(app, kept)}. ${whyHeld(kept)}`)));
  });
  return [h("h2", { class: "half-h" }, "Needs a person"), h("ul", { class: "rows" }, rows)];
}

/** What people decided about entries of this tablet, in the words that the manager reads. @param {App} app @param {Kept[]} decided @returns {Node[]} */
function becameOf(app, decided) {
  if (!decided.length) return [];
  const rows = decided.map((kept) => {
    const stop = app.round.stopById(kept.action.stop_id);
    const words = verdictWords(kept);
    return h("li", { class: "row" }, vessel(kept.verdict?.verdict === "accepted" ? "done" : "skipped"), h("p", {}, h("b", {}, `${stop ? `${app.round.codeOf(stop)}: ` : ""}${entryWords(kept.action, app.round.pack, app.words)}`), h("br"), h("span", { class: "note" }, `Written ${timeOf(app, kept)}. ${capital(words)}${/[.!?]$/.test(words) ? "" : "."}`)), h("span", { class: "hint" }, app.words.when(String(kept.verdict?.decided_at), app.round.now())));
  });
  return [h("h2", { class: "half-h" }, "What became of what needed a person"), h("ul", { class: "rows" }, rows)];
}

/** @param {Kept} kept @returns {string} under a title that says it needs a person: only why */
function whyHeld(kept) {
  const { verdict } = kept;
  const why = [verdict?.words, verdict?.help].filter(Boolean).join(" ");
  return verdict?.verdict === "held" && why ? why : `${capital(verdictWords(kept))}.`;
}

/** @param {App} app @param {Kept[]} waiting @returns {Node[]} */
function notSent(app, waiting) {
  if (!waiting.length) return [];
  const rest = waiting.slice(FIRST);
  const rows = waiting.slice(0, FIRST).map((kept) => row(app, kept));
  const more = rest.length ? h("details", { class: "ob-more", "data-key": "more" }, h("summary", {}, moreWords(rest.map((kept) => timeOf(app, kept)))), h("ul", { class: "rows" }, rest.map((kept) => row(app, kept)))) : null;
  return [h("h2", { class: "half-h" }, "Not sent yet, newest first"), h("ul", { class: "rows ob-list" }, rows), more].filter((node) => node !== null);
}

/** Always last: they go when no entry waits. @param {App} app @returns {Node[]} */
function photos(app) {
  if (!app.photos.length) return [];
  const rows = [...app.photos].reverse().slice(0, MOST_TAKEN).map((photo) => {
    const stop = app.round.stopById(photo.stop_id);
    const mark = photo.state === "refused" ? "held" : photo.state === "sent" ? "done" : "half";
    return h("li", { class: "obrow" }, h("span", { class: "hint" }, app.words.moment(app.round.corrected(photo.taken_at), app.round.now())), h("b", {}, stop ? app.round.codeOf(stop) : ""), h("span", {}, vessel(mark), " Photo"), h("span", { class: "note" }, photoWords(photo, app.photoSender)));
  });
  return [h("h2", { class: "half-h" }, "Photos, always last"), h("ul", { class: "rows ob-list", "data-key": "photos" }, rows)];
}

/** @param {App} app @param {Kept[]} taken @returns {Node[]} */
function sent(app, taken) {
  if (!taken.length) return [];
  const shown = taken.slice(0, MOST_TAKEN);
  const title = shown.length < taken.length ? `Sent, the last ${count(MOST_TAKEN)} of ${taken.length}` : "Sent";
  return [h("details", { class: "ob-more", "data-key": "sent list" }, h("summary", {}, title), h("ul", { class: "rows" }, shown.map((kept) => row(app, kept))))];
}

/** @param {App} app @param {Kept} kept */
function row(app, kept) {
  const stop = app.round.stopById(kept.action.stop_id);
  return h("li", { class: "obrow" }, h("span", { class: "hint" }, timeOf(app, kept)), h("b", {}, stop ? app.round.codeOf(stop) : ""), h("span", {}, entryWords(kept.action, app.round.pack, app.words)), h("span", { class: "note" }, verdictWords(kept), putRight(app, kept)));
}

/** Opens at its stop what puts this entry right. @param {App} app @param {Kept} kept */
function putRight(app, { action }) {
  const found = app.round.closedAt ? null : correctable(app, action.action_id);
  const open = async () => {
    if (!found) return;
    await app.go(found.stop);
    app.open({ name: "correct", id: action.action_id });
  };
  return found && [" ", button("Put it right", open, { class: "look-go", "data-key": `right ${action.action_id}` })];
}

/** @param {App} app @param {number} unsent @param {boolean} open */
function file(app, unsent, open) {
  if (!unsent) return null;
  return h(
    "details",
    { class: "ob-more", "data-key": "file", ...(open ? { open: true } : {}) },
    h("summary", {}, "Save to a file, if this tablet must go"),
    h("p", { class: "note" }, `${unsent} ${unsent === 1 ? "entry goes" : "entries go"} into `, h("b", {}, app.fileName()), ". Give it to the manager: any machine can bring it in, and what has come in before is not counted twice. Saving takes nothing out of the outbox. Photos are too large for it: they stay here until they are sent."),
  );
}

/** @param {App} app @param {string} room */
function state(app, room) {
  const onTablet = app.holds() === "tablet";
  const kept = !onTablet ? "no, only while this page is open" : tablet.stays ? "yes, promised by the browser" : tablet.stays === null ? "the browser does not tell" : "until the browser needs the room";
  /** @type {[string, string][]} */
  const facts = [
    ["On the first screen", tablet.installed ? "yes" : "no, opened in a browser window"],
    ["Kept by this tablet", kept],
    ["Room left", room],
    ["Clock", clockWords(app.sending().offsetMs, app.sending().lastAnswer === null)],
    ["Sent entries", onTablet ? "stay here 14 days" : "stay until the page is closed"],
  ];
  const told = onTablet ? tabletWords() : [];
  return h("section", { "aria-label": onTablet ? "This tablet" : "This page" }, h("dl", { class: "ob-state" }, facts.map(([what, answer]) => h("div", {}, h("dt", {}, what), h("dd", {}, answer)))), told.length ? h("ul", { class: "rows" }, told.map((sentence) => h("li", { class: "hint" }, sentence))) : null);
}
