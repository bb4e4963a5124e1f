// Something is wrong, the wrong tank, or an empty place that is not dry.

import { button, h } from "./dom.js";
import { back, sentenceField } from "./fields.js";
import { moveDraft } from "./kinds/correction.js";
import { readNumber, stepper } from "./pad.js";
import { photoDraft, photoInput } from "./photos.js";
import { photoNotKept } from "./refusals.js";
import { holding } from "./state.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Stop} Stop */

/**
 * @param {App} app
 * @param {Stop} stop
 */
export function troublePanel(app, stop) {
  const panel = h("div", { class: "opened" });
  const first = (/** @type {string} */ title, /** @type {string} */ follows, /** @type {string} */ code) => h("button", { class: "choice", type: "button", onclick: () => app.firstMinute(code) }, h("b", {}, title), h("span", {}, follows));
  const animal = (/** @type {"dead" | "missing"} */ what) => panel.replaceChildren(animalForm(app, stop, what));
  panel.append(
    h("h2", { class: "open-h", tabindex: -1, "data-key": "panel" }, `${app.round.codeOf(stop)}: what is wrong?`),
    first("Hissing, headache, gas alarm", "opens First minute: people first", "gas"),
    first("Water where it should not be", "opens First minute", "water"),
    first("Animals gasping at the surface", "opens First minute", "gasping"),
    h("button", { class: "choice", type: "button", onclick: () => animal("dead") }, h("b", {}, "An animal is dead"), h("span", {}, "one entry, the tank stays half done")),
    h("button", { class: "choice", type: "button", onclick: () => animal("missing") }, h("b", {}, "An animal is missing"), h("span", {}, "not a death; it is counted again later")),
    sentenceField("Something else, in words", "Keep this note", (text) => app.enter(stop, [{ kind: "note", stop_id: stop.id, body: { text } }], "Note")),
    back(app),
  );
  return panel;
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @param {"dead" | "missing"} what
 */
function animalForm(app, stop, what) {
  let batch = stop.batches.length === 1 ? stop.batches[0].id : "";
  let text = "";
  /** @type {import("../outbox/photos.js").Picture | null} */
  let picture = null;
  const pictured = h("p", { class: "note", role: "status" });
  const photo = photoInput(app, {
    label: "Add a photo",
    key: "photo animal",
    use: (taken) => {
      picture = taken;
      pictured.textContent = "One photo goes with it.";
      return "";
    },
  });
  const error = h("p", { class: "field-err", role: "alert", hidden: true });
  const kinds = h("div", { class: "choices", role: "group", "aria-label": "Which kind" });
  const show = () =>
    kinds.replaceChildren(
      ...[...stop.batches, { id: "unsure", name: "Species unsure", count: null }].map((b) =>
        button(b.name, () => {
          batch = b.id;
          show();
        }, { class: b.id === batch ? "btn btn-wet btn-act" : "btn btn-wet", "aria-pressed": String(b.id === batch) }),
      ),
    );
  show();
  const { element } = stepper({ label: `How many ${what}`, unit: "heads", step: 1, from: 0, value: "", mark: ".", onInput: (typed) => (text = typed) });
  const keep = () => {
    const read = readNumber(text);
    const known = stop.batches.find((b) => b.id === batch);
    const sentence = !batch ? "Which kind? Choose one, or “Species unsure”." : "sentence" in read || !/^\d{1,5}$/.test(read.typed.value) || read.typed.number === 0 ? "How many? Write a whole number, 1 or more." : known?.count && read.typed.number > known.count ? `${read.typed.number} ${known.name}, where ${known.count} were. At most ${known.count}; count again.` : null;
    if (sentence || "sentence" in read) {
      error.hidden = false;
      error.textContent = sentence ?? "How many? Write a whole number, 1 or more.";
      return;
    }
    const unsure = batch === "unsure";
    const entry = { kind: "animal", stop_id: stop.id, body: { what, batch: unsure ? null : batch, species_unsure: unsure, count: read.typed.number, text: null } };
    return keepAnimal(app, stop, entry, picture, `${read.typed.number} ${what}`);
  };
  return h("div", {}, h("h2", { class: "open-h", tabindex: -1 }, what === "dead" ? "Which died?" : "Which is missing?"), kinds, h("p", { class: "half-h" }, "How many"), h("div", { class: "field field-wet" }, element), error, photo, pictured, button(`Keep: ${what}`, keep, { class: "btn btn-act btn-wet wide" }), back(app));
}

/**
 * With its photo, and where there is no room for that, the entry alone: an animal counts more than its picture.
 * @param {App} app
 * @param {Stop} stop
 * @param {import("../outbox/envelope.js").Draft} entry
 * @param {import("../outbox/photos.js").Picture | null} picture
 * @param {string} said
 */
async function keepAnimal(app, stop, entry, picture, said) {
  if (!picture) return app.enter(stop, [entry], said);
  if (await app.enter(stop, [entry, photoDraft(stop, picture, String(entry.body.what))], `${said}, with a photo`, [picture])) return true;
  if (!app.refusal) return false; // not tried: still writing, or locked
  const text = `${said} is kept, without its photo. ${photoNotKept(app.refusal)}`;
  app.message = { stop: stop.id, text, card: null };
  const done = await app.enter(stop, [entry], text);
  if (!done) app.message = null;
  return done;
}

/**
 * Within ten minutes everything of this stop can be taken back; at any time it can be moved to the right tank.
 * @param {App} app
 * @param {Stop} stop
 */
export function wrongTankPanel(app, stop) {
  const code = app.round.codeOf(stop);
  const now = app.round.now().getTime();
  const mine = holding(app.round.entriesAt(stop)).filter((entry) => entry.person_id === app.round.context.person_id && !["stop_leave"].includes(entry.kind));
  const young = mine.filter((entry) => now - Date.parse(entry.done_at) < 600_000);
  const takeBack = () => app.enter(stop, young.map((entry) => ({ kind: "undo", stop_id: stop.id, task_id: entry.task_id, corrects: entry.action_id, body: { takes_back: entry.action_id } })), `${code}: taken back`);
  return h(
    "div",
    { class: "opened" },
    h("h2", { class: "open-h", tabindex: -1, "data-key": "panel" }, `You are at ${code}. Was this another tank?`),
    !mine.length && h("p", {}, `Nothing is entered at ${code}. Tap the right tank on the walk.`),
    young.length > 0 && h("button", { class: "choice", type: "button", onclick: takeBack }, h("b", {}, `Take back ${young.length === 1 ? "the entry" : `all ${young.length} entries`} of ${code}`), h("span", {}, "then tap the right tank on the walk")),
    mine.length > 0 && h("h2", { class: "half-h" }, `Or move ${mine.length === 1 ? "it" : "all of it"} to the tank where it was done`),
    mine.length > 0 && h("p", {}, "Both lines stay: the old one is shown as moved. Stock and plan follow."),
    mine.length > 0 && h("div", { class: "skip-what" }, app.round.pack.stops.filter((to) => to.tank && to.id !== stop.id && to.empty_day === null).map((to) => button(/** @type {string} */ (to.tank), () => app.enter(stop, mine.map((entry) => moveDraft(stop, entry, /** @type {string} */ (to.tank))), `${code}: moved to ${to.tank}`), { class: "btn btn-wet", "data-key": `move to ${to.tank}` }))),
    back(app),
  );
}

/**
 * @param {App} app
 * @param {string} id  stop of the empty place
 */
export function notDryPanel(app, id) {
  const empty = app.round.stopById(id);
  if (!empty) return h("div", {}, back(app));
  return h(
    "div",
    { class: "opened" },
    h("h2", { class: "open-h", tabindex: -1, "data-key": "panel" }, `${empty.tank} is empty and should be dry. What is there?`),
    h("button", { class: "choice", type: "button", onclick: () => app.firstMinute("water") }, h("b", {}, "Water runs, or is near sockets"), h("span", {}, "opens First minute: power first, from a dry place")),
    sentenceField("What you see", "Keep this note", (text) => app.enter(empty, [{ kind: "note", stop_id: empty.id, body: { text: `Not dry: ${text}` } }], `${empty.tank}: note`)),
    back(app),
  );
}
