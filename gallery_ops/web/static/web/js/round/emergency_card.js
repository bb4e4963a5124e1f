// One card: at most seven lines in any order, its clock, whom to ring, what to say, what has stopped.

import { button, h } from "./dom.js";
import { runningClocks } from "./emergency_clocks.js";
import { endPanel, placePanel, timelinePanel, writePanel } from "./emergency_panels.js";
import { isMine, runningOf, tap } from "./emergency_taps.js";
import { placeWords, stopsWhere } from "./emergencies.js";
import * as incident from "./kinds/incident.js";
import { diamond, vessel } from "./marks.js";
import { notKept } from "./refusals.js";
import { outboxState } from "./top_line.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Card} Card */
/** @typedef {import("./emergencies.js").Emergency} Emergency */
/** @typedef {import("./first_minute.js").FirstMinute} FirstMinute */

const SHOWN_NUMBERS = 4;

/**
 * @param {App} app
 * @param {Card} card
 * @param {FirstMinute} panel
 * @returns {Node[]}
 */
export function emergencyCard(app, card, panel) {
  const running = runningOf(app, card, panel);
  const title = h("h1", { class: "fm-h", tabindex: -1, "data-key": "title", lang: card.language }, diamond(), panel.drill || running?.drill ? `Drill: ${card.title}` : card.title);
  return [
    h("div", { class: "card-head" }, h("div", {}, h("p", { class: "note" }, opened(app, running), " ", runningClocks(app, running?.id), " ", outboxState(app)), title, where(app, panel, running)), clock(app, running)),
    !app.round.canKeep && h("div", { class: "notice loud", role: "alert" }, h("b", {}, notKept(app.round.refused).strong), " Do what the card says, and write the times on paper."),
    joining(app, card, panel, running),
    asked(app, card, panel, running),
    h("ol", { class: "card-lines", lang: card.language }, card.lines.map((line, i) => lineRow(app, card, panel, running, line, i + 1))),
    h(
      "div",
      { class: "card-two" },
      h("section", {}, h("h2", { class: "h2" }, "Numbers to ring"), telephones(app, running, (number) => tap(app, card, panel, running, (which) => incident.step(which, "rung", { text: number }), `Rung ${number}`))),
      h("section", {}, sayPart(app, card, running), stoppedPart(app, card, running)),
    ),
    foot(app, card, panel, running),
  ].filter((node) => node instanceof Node);
}

/** @param {App} app @param {Emergency | null} running */
function opened(app, running) {
  if (!running) return "First minute. The clock starts with your first tap.";
  return `First minute, opened ${app.words.second(running.openedAt)} by ${running.by}`;
}

/** @param {App} app @param {FirstMinute} panel @param {Emergency | null} running */
function where(app, panel, running) {
  const said = placeWords(running?.place ?? null, app.round.rooms);
  const ask = h("button", { class: "linkish", type: "button", "data-key": "place", onclick: () => app.open({ ...panel, ask: "place" }) }, said ? "Another place" : "Which tank or room?");
  return h("p", { class: "card-where" }, said && `${said.charAt(0).toUpperCase()}${said.slice(1)}. `, ask);
}

/** @param {App} app @param {Emergency | null} running */
function clock(app, running) {
  const since = running ? app.sinceWords(running.openedAt, running.closedAt) : "0:00";
  return h("p", { class: "clock" }, h("b", running && !running.closedAt ? { "data-clock": Date.parse(running.openedAt) } : {}, since), h("span", {}, running?.closedAt ? "minutes, it is over" : "minutes since the start"));
}

/** @param {App} app @param {Card} card @param {FirstMinute} panel @param {Emergency | null} running */
function joining(app, card, panel, running) {
  if (!running || running.closedAt || isMine(app, running)) return null;
  return h(
    "div",
    { class: "notice", role: "status" },
    h("span", {}, h("b", {}, `${running.by} opened this ${app.words.time(running.openedAt)}.`), " Each of your taps joins it."),
    button("Join", () => tap(app, card, panel, running, null, "Joined"), { class: "btn btn-wet", "data-key": "join" }),
    button("It is another one", () => tap(app, card, { ...panel, id: null }, null, null, "A second one. Its clock runs"), { class: "btn btn-wet" }),
  );
}

/** @param {App} app @param {Card} card @param {FirstMinute} panel @param {Emergency | null} running */
function asked(app, card, panel, running) {
  const to = (/** @type {(which: incident.Which) => import("../outbox/envelope.js").Draft} */ what, /** @type {string} */ spoken) => tap(app, card, panel, running, what, spoken);
  const leave = () => app.open({ ...panel, ask: null });
  if (panel.ask === "place") return placePanel(app, to, leave);
  if (panel.ask === "write") return writePanel(to, leave);
  if (panel.ask === "over" || panel.ask === "nothing") return endPanel(app, card, panel.ask, to, leave);
  if (panel.ask === "done" && running) return timelinePanel(app, card, running, leave);
  return null;
}

/**
 * @param {App} app @param {Card} card @param {FirstMinute} panel @param {Emergency | null} running
 * @param {string} text
 * @param {number} number
 */
function lineRow(app, card, panel, running, text, number) {
  const done = running?.lines.get(number);
  const present = firstOpen(card, running) === number;
  const leads = app.round.pack.cards.find((other) => other.code === card.leads?.[number]);
  const stamp = h("span", { class: "stamp" }, vessel(done ? "done" : "to_do"), done ? h("span", {}, app.words.second(done)) : h("span", { class: "vh" }, "not yet"));
  const press = () => tap(app, card, panel, running, (which) => incident.step(which, "done", { line: number }), `Line ${number}`);
  return h(
    "li",
    { class: done ? "was" : present ? "is" : null, "aria-current": present ? "step" : null },
    h("button", { class: "line", type: "button", "aria-pressed": String(Boolean(done)), "aria-keyshortcuts": String(number), "data-key": `line ${number}`, onclick: press }, h("span", { class: "ct" }, text), stamp),
    (present || done) && card.counts === number && people(app, card, panel, running, number),
    leads && h("div", { class: "leads" }, button(leads.title, () => app.open({ name: "first_minute", card: leads.code, drill: panel.drill }), { class: "btn btn-wet", lang: leads.language })),
  );
}

/** @param {Card} card @param {Emergency | null} running */
function firstOpen(card, running) {
  if (running?.closedAt) return null;
  const at = card.lines.findIndex((_, i) => !running?.lines.has(i + 1));
  return at < 0 ? null : at + 1;
}

/**
 * Whoever is at work by the rota, and the visitors: each fills when they are seen outside.
 * @param {App} app @param {Card} card @param {FirstMinute} panel @param {Emergency | null} running
 * @param {number} line
 */
function people(app, card, panel, running, line) {
  const names = [...new Set([...(app.round.pack.emergency?.at_work ?? []), app.round.personName(app.round.context.person_id), "Visitors"])];
  return h(
    "div",
    { class: "who-out" },
    names.map((name) => {
      const at = running?.out.get(name);
      const seen = () => tap(app, card, panel, running, (which) => incident.step(which, "out", { line, text: name }), `${name} out`);
      return h("button", { class: "btn btn-wet", type: "button", "aria-pressed": String(Boolean(at)), "data-key": `out ${name}`, onclick: at ? null : seen }, vessel(at ? "done" : "to_do"), h("span", {}, name, h("small", {}, at ? `out ${app.words.second(at)}` : "not yet seen")));
    }),
  );
}

/**
 * @param {App} app
 * @param {Emergency | null} running
 * @param {((number: string) => unknown) | null} rung  stamps a number that is rung; null outside a card
 */
export function telephones(app, running, rung) {
  const first = app.round.pack.emergency?.ring;
  const own = app.round.pack.telephones.filter((row) => row.number.replace(/[^\d+]/g, "") !== first?.number);
  const all = [...(first?.number ? [first] : []), ...own];
  const row = (/** @type {{name: string, number: string, what?: string}} */ { name, number, what }) => {
    const at = running?.rung.get(number)?.at(-1);
    return h("li", {}, h("a", { class: "telrow", href: `tel:${number.replace(/[^\d+]/g, "")}`, "data-key": `ring ${number}`, onclick: rung && (() => void rung(number)) }, h("b", {}, number), h("span", {}, [name, what].filter(Boolean).join(", "), at && ", ", at && h("b", {}, `rung ${app.words.second(at)}`))));
  };
  const rest = all.slice(SHOWN_NUMBERS);
  return h("div", {}, h("ul", { class: "tel" }, all.slice(0, SHOWN_NUMBERS).map(row)), rest.length > 0 && h("details", { "data-key": "all numbers" }, h("summary", {}, `All ${all.length} numbers`), h("ul", { class: "tel" }, rest.map(row))));
}

/** @param {App} app @param {Card} card @param {Emergency | null} running */
function sayPart(app, card, running) {
  const { place } = running ?? { place: null };
  const rooms = app.round.rooms.filter((room) => (place?.kind === "room" ? room.id === place.key : place?.kind === "tank" ? room.tanks.includes(place.key ?? "") : true));
  const hang = card.stops === "room" || card.counts ? rooms.flatMap((room) => room.hanging.map((words) => `${room.name}: ${words}`)) : [];
  return [h("h2", { class: "h2" }, "Say on the telephone"), card.address && h("p", {}, h("b", {}, card.address)), card.say && h("p", { lang: card.language }, card.say), hang.map((words) => h("p", {}, words))];
}

/** @param {App} app @param {Card} card @param {Emergency | null} running */
function stoppedPart(app, card, running) {
  const place = running && stopsWhere(running, card.stops);
  const at = placeWords(place ?? null, app.round.rooms);
  const cannot = h("p", { class: "note" }, running?.drill ? "A drill stops nothing and calls nobody. " : "", h("span", { lang: card.language }, card.cannot ?? ""));
  if (at) return [h("h2", { class: "h2 gap-top" }, "This program has stopped"), h("ul", { class: "stopped" }, [`Giving and feeding, ${at}`, `Routine tasks, ${at}: they rest and do not count late`].map((words) => h("li", {}, vessel("skipped"), " ", words))), cannot];
  const why = running?.closedAt ? "It is over: giving, feeding and tasks go on." : running?.drill || card.stops === "nothing" ? "It has stopped nothing." : "It has stopped nothing yet: say which tank or room.";
  return [h("h2", { class: "h2 gap-top" }, "What this program does"), h("p", {}, why), cannot, h("p", { class: "note" }, "Local rules and trained people decide.")];
}

/** @param {App} app @param {Card} card @param {FirstMinute} panel @param {Emergency | null} running */
function foot(app, card, panel, running) {
  const ask = (/** @type {FirstMinute["ask"]} */ what) => () => app.open({ ...panel, ask: what });
  const open = running && !running.closedAt;
  return h(
    "div",
    { class: "stop-foot" },
    button("Write a line", ask("write"), { "data-key": "write" }),
    running && button(`What was done, ${running.taps.length} ${running.taps.length === 1 ? "entry" : "entries"}`, ask("done"), { "data-key": "what was done" }),
    open && button("It is over, say who decided", ask("over"), { "data-key": "over" }),
    open && button("It was nothing", ask("nothing"), { "data-key": "nothing" }),
    button("Another card", () => app.open({ name: "first_minute", card: null }), { "data-key": "another card" }),
    button("Back to the round, it is kept", () => app.open(null), { "data-key": "back" }),
  );
}
