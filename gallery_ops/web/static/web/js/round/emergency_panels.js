// What a card asks for when somebody has a hand free: the place, a line, who decided; and its timeline.

import { button, h } from "./dom.js";
import { placeWords } from "./emergencies.js";
import * as incident from "./kinds/incident.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Card} Card */
/** @typedef {(what: (which: incident.Which) => import("../outbox/envelope.js").Draft, spoken: string) => unknown} To */

/**
 * @param {string} title
 * @param {() => void} leave
 * @param {...unknown} inside
 */
function opened(title, leave, ...inside) {
  return h("section", { class: "opened fm-ask" }, h("h2", { class: "open-h", tabindex: -1, "data-key": "panel" }, title), inside, button("Back to the card", leave, { class: "btn" }));
}

/** @param {App} app @param {To} to @param {() => void} leave */
export function placePanel(app, to, leave) {
  const say = (/** @type {import("./emergencies.js").Place} */ place) => () => to((which) => incident.step(which, "place", { place }), placeWords(place, app.round.rooms));
  const here = app.here()?.tank;
  return opened(
    "Where is it?",
    leave,
    h("div", { class: "fm-places" }, here && button(`${here}, where you are`, say({ kind: "tank", key: here }), { class: "btn btn-wet", "data-key": "place here" }), button("The whole gallery", say({ kind: "gallery", key: null }), { class: "btn btn-wet" })),
    app.round.rooms.map((room) => [
      h("h3", { class: "half-h" }, room.name),
      h("div", { class: "fm-places" }, button(`All of ${room.name}`, say({ kind: "room", key: room.id }), { class: "btn btn-wet" }), room.tanks.filter((code) => code !== here).map((code) => button(code, say({ kind: "tank", key: code }), { class: "btn btn-wet" }))),
    ]),
  );
}

/**
 * A line of text that must say something.
 * @param {string} label
 * @param {string} keep  words of the button
 * @param {number} longest
 * @param {(text: string) => unknown} onKeep
 */
function line(label, keep, longest, onKeep) {
  const input = h("input", { class: "input", id: "fm-line", maxlength: longest, autocomplete: "off", "data-key": "fm line", onkeydown: (/** @type {KeyboardEvent} */ event) => event.key === "Enter" && go() });
  const wrong = h("p", { class: "field-err", role: "alert", hidden: true }, `${label}: write it, or go back to the card.`);
  const go = () => {
    const text = /** @type {HTMLInputElement} */ (input).value.trim();
    if (text) return onKeep(text);
    wrong.hidden = false;
    input.focus();
  };
  return [h("label", { class: "half-h", for: "fm-line" }, label), wrong, input, button(keep, go, { class: "btn btn-act btn-wet" })];
}

/** @param {To} to @param {() => void} leave */
export function writePanel(to, leave) {
  return opened("Write a line", leave, line("What was seen or done", "Keep it, with this second", 300, (text) => to((which) => incident.step(which, "wrote", { text }), text)));
}

/** @param {App} app @param {Card} card @param {"over" | "nothing"} how @param {To} to @param {() => void} leave */
export function endPanel(app, card, how, to, leave) {
  const goesOn = "Giving, feeding and tasks go on from this second. Everything tapped is kept.";
  if (how === "nothing") return opened("It was nothing?", leave, h("p", {}, goesOn), button("It was nothing, keep that", () => to((which) => incident.close(which, null), "It was nothing"), { class: "btn btn-act btn-wet" }));
  const who = card.released ? "Competent person who measured and released the room" : "Who decided that it is over";
  return opened("It is over?", leave, h("p", {}, goesOn), line(`${who}, by name`, "It is over", 120, (name) => to((which) => incident.close(which, name), "It is over")));
}

/** @param {App} app @param {Card} card @param {import("./emergencies.js").Emergency} running @param {() => void} leave */
export function timelinePanel(app, card, running, leave) {
  return opened("What was done", leave, h("ol", { class: "fm-taps" }, running.taps.map((one) => h("li", {}, h("b", {}, app.words.second(one.at)), " ", tapWords(app, card, one), h("small", {}, ` ${one.by}`)))));
}

/** @param {App} app @param {Card} card @param {import("./emergencies.js").Tap} one */
function tapWords(app, card, one) {
  const place = one.place ? placeWords(one.place, app.round.rooms) : "";
  /** @type {Record<string, string>} */
  const words = {
    opened: place ? `card opened, ${place}` : "card opened",
    joined: "joined",
    place: place,
    done: `${one.line}. ${card.lines[(one.line ?? 1) - 1] ?? ""}`,
    out: `${one.text} is out`,
    rung: `rung ${one.text}`,
    wrote: one.text,
    nothing: "it was nothing",
    over: `it is over, decided by ${one.text}`,
  };
  return words[one.kind] ?? one.kind;
}
