// Reading the bottle's label: once in a hand it holds for every tank, and a wrong one is a stop.

import { button, h } from "./dom.js";
import { back } from "./fields.js";
import * as bottle from "./kinds/bottle.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Stop} Stop */
/** @typedef {import("./pack.js").Dose} Dose */

/**
 * Which bottle is in the hand; a tap reads another label.
 * @param {App} app
 * @param {Dose} dose
 */
export function bottleRow(app, dose) {
  const code = app.inHand[dose.product];
  const words = !code ? "label not read" : `${bottle.printed(code)}, ${code === dose.bottle?.code ? "the right one" : "not the one of this tank"}`;
  return h(
    "button",
    { class: "look", type: "button", "data-key": `bottle ${dose.task}`, onclick: () => app.open({ name: "bottle", task: dose.task }) },
    h("span", {}, h("b", {}, "Bottle"), h("small", {}, words)),
    h("span", { class: "go" }, code ? "Another bottle" : "Read its label"),
  );
}

/**
 * In the place of tick two while the wrong bottle is in the hand.
 * @param {App} app
 * @param {Dose} dose
 * @param {string} sentence
 */
export function wrongBottle(app, dose, sentence) {
  const none = () => {
    delete app.inHand[dose.product];
    app.draw();
  };
  return h(
    "div",
    { class: "before", role: "group", "aria-label": "The wrong bottle" },
    h("p", { role: "alert" }, h("b", {}, "Stop. "), `${sentence} Nothing was entered.`),
    h("button", { class: "choice", type: "button", "data-key": "other bottle", onclick: () => app.open({ name: "bottle", task: dose.task }) }, h("b", {}, "Fetch the right one and read its label"), h("span", {}, "the dose stays to be given")),
    h("button", { class: "choice", type: "button", "data-key": "no bottle", onclick: none }, h("b", {}, "I misread: no label is read"), h("span", {}, "the gallery takes the bottle that feeds this tank")),
  );
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {string} task
 */
export function bottlePanel(app, stop, task) {
  const dose = stop.doses.find((one) => one.task === task);
  if (!dose) return h("div", {}, back(app));
  const id = "bottle-code";
  const error = h("p", { class: "field-err", role: "alert", hidden: true });
  const input = /** @type {HTMLInputElement} */ (h("input", { id, type: "text", maxlength: 300, autocomplete: "off", autocapitalize: "characters", spellcheck: "false", "aria-describedby": "bottle-hint" }));
  const keep = () => {
    const code = bottle.codeIn(input.value);
    if (code) {
      app.inHand[dose.product] = code;
      return app.open(null);
    }
    error.hidden = false;
    error.textContent = `“${input.value}” is no code of a label. Allowed: its eight characters, without 0, O, 1, I and L. Read it again.`;
    return input.focus();
  };
  input.addEventListener("keydown", (event) => event.key === "Enter" && keep());
  return h(
    "div",
    { class: "opened" },
    h("h2", { class: "open-h", tabindex: -1, "data-key": "panel" }, "Which bottle is in your hand?"),
    h("div", { class: "field field-wet" }, h("label", { for: id }, "Code on its label"), h("p", { class: "hint", id: "bottle-hint" }, "Eight characters, such as those under the square. A reader of labels may type them."), input),
    error,
    button("This is the bottle", keep, { class: "btn btn-act btn-wet wide" }),
    back(app),
  );
}
