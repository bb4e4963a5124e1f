// Who is here? Names as vessels, six digits on our own pad; the walk stays in sight and First minute in reach.

import { button, h, s } from "./dom.js";
import { frontView } from "./drawing.js";
import { firstMinuteLink } from "./top_line.js";
import { walk } from "./walk.js";

/** @typedef {import("./app.js").App} App */

const LENGTH = 6;
/** @type {Record<string, string>} */
const ROLE = { carer: "carer", senior_carer: "senior carer", manager: "manager", owner: "owner", guest_designer: "guest designer" };

/** What was tapped so far; drawn again with each digit, and gone with the screen. */
const typed = { who: "", digits: "", said: "", busy: false };

/** Forget what was tapped: the screen opens anew. */
export function clearLock() {
  Object.assign(typed, { who: "", digits: "", said: "", busy: false });
}

/**
 * @param {App} app
 * @returns {Node[]}
 */
export function lockScreen(app) {
  const lock = /** @type {import("./lock.js").Lock} */ (app.lock);
  const person = lock.people.find((one) => one.id === typed.who);
  const said = app.outbox();
  const here = app.here();
  const tank = here && app.round.tankOf(here);
  const names = lock.people.map((one) =>
    h("li", {}, h("button", { class: "tile", type: "button", "data-key": `name ${one.id}`, "aria-current": one.id === typed.who ? "true" : null, onclick: () => choose(app, one.id) }, h("b", {}, one.name), h("span", {}, lock.rests(one.id) ? "rests on this tablet" : one.id === lock.person ? "was here last" : (ROLE[one.role] ?? "")))),
  );
  return [
    h("div", { class: "stop-top" }, h("span", { class: "title sign-name" }, app.round.pack.showroom.name), h("span", { class: said.strong ? "notice" : "note", role: "status" }, said.strong && h("b", {}, said.strong), said.strong && " ", app.waiting() ? `${said.strong ? "Kept on this tablet" : `${app.waiting()} kept here`}, whoever signs in` : said.text), h("span", { class: "mast-side" }, firstMinuteLink(app))),
    h("div", { class: "stop-walk" }, h("div", { class: "walkbox", inert: true }, walk(app.round, app.here()))),
    h("h1", { class: "sign-h", tabindex: -1, "data-key": "title" }, "Who is here?"),
    h("ul", { class: "tiles" }, names),
    person ? pinForm(app, person) : h("p", { class: "note sign-note" }, "Tap your name, then your six digits. It works without the network too. Everything entered stays."),
    lock.isLocked ? null : h("div", { class: "stop-foot" }, button("Back to the round", () => app.open(null), { class: "btn btn-wet" })),
    tank && h("div", { class: "sign-art", "aria-hidden": "true" }, frontView(tank, { focusable: "false" })),
  ].filter((node) => node instanceof Node);
}

/** @param {App} app @param {import("./pack.js").Person} person */
function pinForm(app, person) {
  const given = person.name.split(" ")[0];
  const vessels = Array.from({ length: LENGTH }, (_, n) => s("svg", { viewBox: "0 0 24 24" }, s("path", { class: n < typed.digits.length ? "f" : "o", d: "M3 3V21H21V3" })));
  const key = (/** @type {string} */ text, /** @type {() => void} */ tapped, /** @type {string | null} */ name = null) => button(text, () => typed.busy || tapped(), { "data-key": `pad ${text}`, "aria-label": name });
  const digit = (/** @type {string} */ one) => key(one, () => add(app, one));
  const field = h("input", { class: "vh", id: "digits", type: "password", inputmode: "none", autocomplete: "off", "data-key": "digits", "aria-label": `Six digits, ${given}`, value: typed.digits, oninput: (/** @type {Event} */ event) => add(app, /** @type {HTMLInputElement} */ (event.target).value.slice(typed.digits.length)), onkeydown: (/** @type {KeyboardEvent} */ event) => event.key === "Backspace" && (event.preventDefault(), set(app, typed.digits.slice(0, -1))) });
  return h(
    "section",
    { class: "pin", "aria-label": `Six digits, ${given}` },
    h("div", {}, h("h2", { class: "sign-h2", "data-key": "panel", tabindex: -1 }, `${given}, your six digits`), typed.said && h("div", { class: "errs", role: "alert" }, h("p", {}, typed.said)), h("div", { class: "pins", "aria-hidden": "true" }, vessels), h("p", { class: "note", role: "status" }, typed.busy ? "Looking" : `${typed.digits.length} of ${LENGTH}. Five wrong tries let this name rest for five minutes. Works without the network.`), field),
    h("div", { class: "pad" }, [..."123456789"].map(digit), key("Erase", () => set(app, typed.digits.slice(0, -1)), "Erase last digit"), digit("0"), key("Erase all", () => set(app, ""))),
  );
}

/** @param {App} app @param {string} id */
function choose(app, id) {
  const lock = /** @type {import("./lock.js").Lock} */ (app.lock);
  Object.assign(typed, { who: id, digits: "", said: lock.rests(id) });
  app.draw();
  /** @type {HTMLElement | null} */ (document.querySelector('[data-key="digits"]'))?.focus({ preventScroll: true });
  document.querySelector(".pin")?.scrollIntoView({ block: "nearest" });
}

/** @param {App} app @param {string} more */
function add(app, more) {
  set(app, (typed.digits + more.replace(/\D/g, "")).slice(0, LENGTH));
}

/** @param {App} app @param {string} digits */
function set(app, digits) {
  if (typed.busy) return;
  typed.digits = digits;
  if (digits.length === LENGTH) void look(app, typed.who, digits);
  else if (digits) typed.said = "";
  app.draw();
}

/** @param {App} app @param {string} who @param {string} digits */
async function look(app, who, digits) {
  const lock = /** @type {import("./lock.js").Lock} */ (app.lock);
  typed.busy = true;
  const said = await lock.open(who, digits);
  Object.assign(typed, { busy: false, digits: "", said });
  if (!said) return clearLock();
  app.say(said);
  app.draw();
}
