// Who is here, where, what waits, and the way to First minute: on every screen of the round.

import { h } from "./dom.js";
import { runningClocks } from "./emergency_clocks.js";
import { diamond } from "./marks.js";

/**
 * @param {import("./app.js").App} app
 * @param {string} place
 */
export function topLine(app, place) {
  const { round } = app.round.pack;
  const zone = round.zone ? `, ${round.zone}` : "";
  return h(
    "div",
    { class: "stop-top" },
    who(app),
    h("span", { class: "note nowrap" }, `${round.name}${zone}`, h("br"), place),
    outboxState(app),
    h("span", { class: "mast-side" }, runningClocks(app), firstMinuteLink(app)),
  );
}

/** Whether all is sent, and the way to the list. @param {import("./app.js").App} app */
export function outboxState(app) {
  const said = app.outbox();
  return h("button", { class: said.notice ? (said.loud ? "notice loud" : "notice") : "sent", type: "button", "data-key": "outbox", onclick: () => app.open({ name: "outbox" }) }, said.strong && h("b", {}, said.strong), said.strong && " ", said.text);
}

/** The name, and on a tablet the way to hand it to the next person. @param {import("./app.js").App} app */
function who(app) {
  const name = app.round.personName(app.round.context.person_id);
  if (!app.lock?.people.length) return h("b", { class: "who" }, name);
  return h("button", { class: "who who-b", type: "button", "data-key": "who", "aria-label": `${name}. Somebody else?`, onclick: () => app.open({ name: "who" }) }, name);
}

/** @param {import("./app.js").App} app */
export function firstMinuteLink(app) {
  const open = (/** @type {Event} */ event) => {
    event.preventDefault();
    app.firstMinute(null);
  };
  return h("a", { class: "firstmin", href: app.addresses.firstMinute, "data-key": "first minute", onclick: open }, diamond(), "First minute");
}
