// Every emergency that is not over, with its clock, on every screen.

import { h } from "./dom.js";
import { elapsed, placeWords } from "./emergencies.js";
import { diamond } from "./marks.js";

/**
 * Every emergency that is not over, with its clock.
 * @param {import("./app.js").App} app
 * @param {string | null} [but]  id of the one that is on the screen
 */
export function runningClocks(app, but = null) {
  const open = app.round.emergencies.filter((one) => !one.closedAt && one.id !== but);
  return open.map((one) => {
    const title = app.round.pack.cards.find((card) => card.code === one.card)?.title ?? one.card;
    const where = one.place?.kind === "gallery" ? "" : placeWords(one.place, app.round.rooms); // whose it is, beside another tank
    return h("button", { class: "fm-run", type: "button", "data-key": `run ${one.id}`, onclick: () => app.open({ name: "first_minute", card: one.card, id: one.id }) }, diamond(), one.drill ? "Drill: " : "", `${title}${where && `, ${where}`} `, h("b", { "data-clock": Date.parse(one.openedAt) }, app.sinceWords(one.openedAt)));
  });
}

/**
 * Once a second the clocks go on; nothing else is drawn.
 * @param {import("./app.js").App} app
 * @param {HTMLElement} page
 */
export function tickClocks(app, page) {
  const now = app.round.now().getTime();
  for (const clock of page.querySelectorAll("[data-clock]")) clock.textContent = elapsed(now - Number(clock.getAttribute("data-clock")));
}
