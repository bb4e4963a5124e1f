// First minute inside the round: from the pack, so that it needs no network and nothing that waits is lost.

import { button, h } from "./dom.js";
import { emergencyCard, telephones } from "./emergency_card.js";
import { runningClocks } from "./emergency_clocks.js";
import { beginCard } from "./emergency_taps.js";
import { picture } from "./pictures.js";
import { outboxState } from "./top_line.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {{name: "first_minute", card: string | null, id?: string | null, drill?: boolean, ask?: "place" | "over" | "nothing" | "write" | "done" | null}} FirstMinute */

/**
 * @param {App} app
 * @param {FirstMinute} panel  card: of which code; null asks what has happened
 * @returns {Node[]}
 */
export function firstMinuteScreen(app, panel) {
  const card = app.round.pack.cards.find((c) => c.code === panel.card);
  return card ? emergencyCard(app, card, panel) : picker(app, panel);
}

/**
 * @param {App} app
 * @param {FirstMinute} panel
 * @returns {Node[]}
 */
function picker(app, panel) {
  const { cards } = app.round.pack;
  const old = cards.every((card) => card.tile === undefined);
  const tiles = cards.filter((card) => card.tile || old);
  const rows = cards.filter((card) => !card.tile && !old);
  const drill = Boolean(panel.drill);
  const start = (/** @type {import("./pack.js").Card} */ card) => () => beginCard(app, card, drill);
  return [
    h("div", { class: "stop-top" }, h("b", { class: "who" }, app.round.personName(app.round.context.person_id)), outboxState(app), runningClocks(app), h("span", { class: "mast-side" }, button("Back to the round, it is kept", () => app.open(null)))),
    h("h1", { class: "fm-h", tabindex: -1, "data-key": "title" }, drill ? "Drill. What has happened?" : "What has happened?"),
    h("ul", { class: "fm-tiles" }, tiles.map((card) => h("li", { lang: card.language }, h("button", { class: card.people ? "fm-tile fm-people" : "fm-tile", type: "button", "data-key": `card ${card.code}`, onclick: start(card) }, picture(card.code), h("span", {}, h("b", { class: "fm-t" }, card.title), h("span", {}, card.first)))))),
    rows.length > 0 && h("ul", { class: "fm-more" }, rows.map((card) => h("li", { lang: card.language }, h("button", { class: "look", type: "button", "data-key": `card ${card.code}`, onclick: start(card) }, h("b", {}, card.title), h("small", {}, card.first))))),
    h("h2", { class: "half-h" }, "Ring now"),
    telephones(app, null, null),
    h("div", { class: "fm-foot stop-foot" }, h("button", { class: "btn", type: "button", "aria-pressed": String(drill), "data-key": "drill", onclick: () => app.open({ ...panel, drill: !drill }) }, drill ? "It is real, no drill" : "This is a drill")),
    h("p", { class: "hint" }, drill ? "A drill is kept like the real thing and marked. It stops nothing and calls nobody." : "The clock starts with the card. Tank or room is asked there. Local rules and trained people decide."),
  ].filter((node) => node instanceof Node);
}
