// Before the first tap: which earlier round of this zone is still open today, and the way to it.

import { button, h } from "./dom.js";

/** @typedef {import("./app.js").App} App */

/**
 * What is to be said of one: nothing where this tablet has walked in it since the gallery was asked.
 * @param {App} app
 * @returns {Node[]}
 */
export function stillOpenBefore(app) {
  const { round } = app;
  if (round.isOpen || app.panel) return [];
  return (round.pack.before ?? [])
    .filter((one) => !round.walkedHere.has(one.id))
    .map(({ code, name, opened_at, tasks }) => {
      const begun = opened_at ? `was begun at ${app.words.time(opened_at)} and is not over` : "was not begun today";
      return h("p", { class: "still-open" }, h("b", {}, `${name} ${begun}:`), ` ${tasks} ${tasks === 1 ? "task" : "tasks"} to do. `, button(`Go to ${name}`, () => app.leaveFor(`${app.addresses.list}${code}/`), { class: "look-go", "data-key": `before ${code}` }));
    });
}
