// At enrolment: asks the browser to keep what is entered, says what it answered, and turns away a
// window that forgets. Without this script the form works and says nothing of the tablet.

import { vessel } from "../round/marks.js";
import { readTablet, tabletRows } from "./this_tablet.js";

const part = /** @type {HTMLElement} */ (document.querySelector("#this-tablet"));
const list = /** @type {HTMLElement} */ (part.querySelector("ul"));
const refusal = /** @type {HTMLElement} */ (document.querySelector("#forgets"));
const form = /** @type {HTMLFormElement} */ (document.querySelector("form.form"));
let asked = false;

/** @param {boolean} ask @returns {Promise<boolean>} whether this window may be enrolled */
async function show(ask) {
  asked ||= ask;
  const tablet = await readTablet(window, ask);
  list.replaceChildren(...tabletRows(tablet, asked).map(row));
  part.hidden = false;
  refusal.hidden = !tablet.forgets;
  form.hidden = tablet.forgets;
  return !tablet.forgets;
}

/** @param {{what: string, answer: string, well: boolean, help: string}} said */
function row({ what, answer, well, help }) {
  const item = document.createElement("li");
  item.className = "row";
  const text = document.createElement("p");
  const title = document.createElement("b");
  title.textContent = what;
  text.append(title);
  if (help) {
    const more = document.createElement("span");
    more.className = "note";
    more.textContent = ` ${help}`;
    text.append(more);
  }
  const short = document.createElement("span");
  short.className = "hint";
  short.textContent = answer;
  item.append(vessel(well ? "done" : "to_do"), text, short);
  return item;
}

// The first touch of the form is the moment to ask: a browser that asks in turn wants a person there.
form.addEventListener("focusin", () => void show(true), { once: true });
form.addEventListener("submit", async (event) => {
  if (asked) return;
  event.preventDefault();
  if (await show(true)) form.requestSubmit();
});
void show(false);
