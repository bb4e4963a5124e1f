// Who is here, where, what waits, and the way to First minute: on every screen of the round.

import { h } from "./dom.js";
import { diamond } from "./marks.js";

/**
 * @param {import("./app.js").App} app
 * @param {string} place
 */
export function topLine(app, place) {
  const { round } = app.round.pack;
  const zone = round.zone ? `, ${round.zone}` : "";
  const said = app.outbox();
  return h(
    "div",
    { class: "stop-top" },
    h("b", { class: "who" }, app.round.personName(app.round.context.person_id)),
    h("span", { class: "note nowrap" }, `${round.name}${zone}`, h("br"), place),
    h("button", { class: said.notice ? (said.loud ? "notice loud" : "notice") : "sent", type: "button", "data-key": "outbox", onclick: () => app.open({ name: "outbox" }) }, said.strong && h("b", {}, said.strong), said.strong && " ", said.text),
    h("span", { class: "mast-side" }, firstMinuteLink(app)),
  );
}

/** @param {import("./app.js").App} app */
export function firstMinuteLink(app) {
  const open = (/** @type {Event} */ event) => {
    event.preventDefault();
    app.firstMinute(null);
  };
  return h("a", { class: "firstmin", href: app.addresses.firstMinute, "data-key": "first minute", onclick: open }, diamond(), "First minute");
}
