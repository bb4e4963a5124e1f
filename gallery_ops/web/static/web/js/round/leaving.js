// Leaving while entries wait: what would be lost, before it is.

import { button, h } from "./dom.js";
import { topLine } from "./top_line.js";

/**
 * @param {import("./app.js").App} app
 * @param {number} waiting
 * @returns {Node[]}
 */
export function leaveScreen(app, waiting) {
  const tablet = app.holds() === "tablet";
  const go = () => {
    addEventListener("beforeunload", (event) => event.stopImmediatePropagation(), { capture: true, once: true });
    location.assign(app.addresses.board);
  };
  return [
    topLine(app, "leave"),
    h("h1", { class: "lede ob-h", tabindex: -1, "data-key": "title" }, h("b", {}, `${waiting} not sent.`), tablet ? " They stay on this tablet and go when the network is there." : " They are kept in this page only: leave it open until they are sent."),
    h("div", { class: "acts" }, button("Stay, try again", () => { app.open(null); app.sendNow(); }, { class: "btn btn-act btn-wet" }), button(tablet ? "Leave" : `Leave all the same, ${waiting} ${waiting === 1 ? "entry is" : "entries are"} lost`, go, { class: "btn btn-wet" })),
  ];
}
