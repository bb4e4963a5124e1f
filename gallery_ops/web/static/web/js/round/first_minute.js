// First minute inside the round: from the pack, so that it needs no network and nothing that waits is lost.

import { button, h } from "./dom.js";
import { diamond } from "./marks.js";

/**
 * @param {import("./app.js").App} app
 * @param {string | null} code  of the card; null asks what has happened
 * @returns {Node[]}
 */
export function firstMinuteScreen(app, code) {
  const card = app.round.pack.cards.find((c) => c.code === code);
  const whole = `${app.addresses.firstMinute}${card?.code ?? ""}/`;
  const leave = h("div", { class: "stop-foot" }, card && button("Another card", () => app.firstMinute(null)), button("Back to the round, it is kept", () => app.open(null)));
  const numbers = h(
    "div",
    { class: "tel" },
    app.round.pack.telephones.map(({ name, number, what }) => h("a", { class: "telrow", href: `tel:${number.replace(/[^\d+]/g, "")}` }, h("b", {}, number), h("span", {}, [name, what].filter(Boolean).join(", ")))),
  );
  if (!card) {
    return [
      h("h1", { class: "fm-h", tabindex: -1, "data-key": "title" }, "What has happened?"),
      h("ul", { class: "fm-plain" }, app.round.pack.cards.map((c) => h("li", {}, h("button", { class: "choice fm-row", type: "button", onclick: () => app.firstMinute(c.code) }, h("b", {}, c.title), h("span", {}, c.first))))),
      numbers,
      leave,
    ];
  }
  return [
    h("h1", { class: "fm-h", tabindex: -1, "data-key": "title" }, diamond(), " ", card.title),
    h("ol", { class: "card-lines" }, card.lines.map((line) => h("li", {}, h("span", { class: "line" }, line)))),
    numbers,
    ...(card.address ? [h("p", { class: "fm-say" }, h("b", {}, "Say where: "), card.address)] : []),
    h("p", { class: "note" }, "Local rules and trained people decide. ", h("a", { href: whole, onclick: (/** @type {Event} */ event) => { event.preventDefault(); void app.leaveFor(whole); } }, "The whole card")),
    leave,
  ];
}
