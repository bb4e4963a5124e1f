// The handover at the end of a round: drafted lines that can be changed or taken out, lines of one's own, and for whom.

import { button, h } from "./dom.js";
import { frontView } from "./drawing.js";
import { MOST_A_TANK, draftLines } from "./handover_draft.js";
import { holding } from "./state.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Stop} Stop */
/** @typedef {import("./handover_draft.js").LineKind} LineKind */
/** @typedef {{key: string, stop: Stop | null, tank: string, kind: LineKind, text: string, by: string, source: string, entry: string | null}} Shown */

/** @type {Record<LineKind, string>} */
export const KIND_WORDS = { changed: "what changed", worry: "worries me", do: "do by" };
const ANY = "any"; // stands for the whole gallery
const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;

/** What is open on the close screen; of this page only. */
const open = { line: "", choosing: false };

/**
 * Every line as it would be handed over now, in walking order, those about the whole gallery last.
 * @param {App} app
 * @returns {Shown[]}
 */
export function handoverLines(app) {
  const { pack } = app.round;
  const drafted = draftLines(pack, (stop) => holding(app.round.entriesAt(stop)));
  const lines = pack.stops.flatMap((stop) => {
    const mine = drafted.filter((line) => pack.stops.find((s) => s.tank === line.tank && app.round.entriesAt(s).some((e) => e.action_id === line.entry)) === stop);
    return [...mine.map((line) => ({ ...line, key: `line ${line.entry}`, stop })), ...own(app, stop)];
  });
  return [...lines, ...own(app, null)].map((line) => changed(app, line)).filter((line) => line.text !== "");
}

/**
 * Drafts of all lines, to be written with the closing in one stroke.
 * @param {App} app
 * @returns {import("../outbox/envelope.js").Draft[]}
 */
export function handoverDrafts(app) {
  return handoverLines(app).map((line) => ({
    kind: "handover_line",
    stop_id: line.stop?.tank ? line.stop.id : null,
    body: { line: line.kind, text: line.text, tank: null, by: line.kind === "do" ? line.by || null : null, source: line.source || null, entry: line.entry && UUID.test(line.entry) ? line.entry : null, handed_to: handedTo(app)?.id ?? null },
  }));
}

/**
 * @param {App} app
 * @returns {import("./pack.js").Person | null} null: the next shift
 */
export function handedTo(app) {
  return app.round.pack.people.find((person) => person.id === kept(app, null)["handed to"]) ?? null;
}

/** @param {App} app @param {Stop | null} stop @returns {Record<string, string>} what was typed and chosen, by key */
function kept(app, stop) {
  return app.draftOf(stop ?? app.round.pack.stops[0]).typed;
}

/** @param {App} app @param {Stop | null} stop @param {string} key @param {string} text */
function keep(app, stop, key, text) {
  kept(app, stop)[key] = text;
  app.keepDraft(stop ?? app.round.pack.stops[0]);
}

/**
 * Lines of one's own at a stop.
 * @param {App} app
 * @param {Stop | null} stop
 * @returns {Shown[]}
 */
function own(app, stop) {
  const begin = `own ${stop?.id ?? ANY} `;
  return Object.keys(kept(app, stop))
    .filter((key) => key.startsWith(begin) && key.split(" ").length === 3)
    .map((key) => ({ key, stop, tank: stop?.tank ?? "", kind: "worry", text: "", by: "", source: "", entry: null }));
}

/** @param {App} app @param {Shown} line @returns {Shown} */
function changed(app, line) {
  const typed = kept(app, line.stop);
  const kind = /** @type {LineKind} */ (typed[`${line.key} kind`] ?? line.kind);
  return { ...line, kind, text: (typed[line.key] ?? line.text).trim(), by: typed[`${line.key} by`] ?? (line.by || app.round.pack.round.business_date) };
}

/**
 * The lines tank by tank, each with its source; one of them open to be changed.
 * @param {App} app
 * @returns {Node[]}
 */
export function handoverSection(app) {
  const lines = handoverLines(app);
  const stops = app.round.pack.stops.filter((stop) => lines.some((line) => line.stop === stop) || opened(app, stop));
  const rest = app.round.pack.stops.filter((stop) => stop.tank && stop.empty_day === null && !stops.includes(stop));
  return [
    h("h2", { class: "half-h" }, lines.length ? "Handover, drafted from what you wrote. Change it, or leave it" : "Handover: nothing was different. Add what the next one must know"),
    h(
      "ol",
      { class: "hand" },
      stops.map((stop) => tankItem(app, stop, lines.filter((line) => line.stop === stop))),
      h("li", { class: "hand-any" }, h("span", {}), h("div", {}, h("h3", {}, "The whole gallery"), lines.filter((line) => !line.stop).map((line) => lineRow(app, line)), opened(app, null) && editor(app, blank(null)), adder(app, null, lines.filter((line) => !line.stop).length), rest.length > 0 && aboutATank(app, rest))),
    ),
  ];
}

/** @param {App} app @param {Stop} stop @param {Shown[]} lines */
function tankItem(app, stop, lines) {
  const tank = app.round.tankOf(stop);
  return h(
    "li",
    {},
    tank ? frontView(tank, { class: "hand-art", "aria-hidden": "true" }) : h("span", {}),
    h("div", {}, h("h3", {}, h("b", {}, app.round.codeOf(stop)), " ", h("span", { class: "title" }, tank?.title ?? "")), lines.map((line) => lineRow(app, line)), opened(app, stop) && editor(app, blank(stop)), !lines.some((line) => line.key === open.line) && adder(app, stop, lines.length)),
  );
}

/** @param {App} app @param {Shown} line */
function lineRow(app, line) {
  if (open.line === line.key) return editor(app, line);
  const by = line.kind === "do" && line.by ? [", ", h("b", {}, app.words.day(line.by.slice(0, 10)))] : null;
  const change = () => show(app, line.key);
  return h("p", { class: "hl" }, h("span", { class: "hk" }, KIND_WORDS[line.kind]), h("span", {}, line.text, by, h("small", {}, line.source || "your own line")), h("button", { class: "look-go", type: "button", "data-key": line.key, "aria-label": `Change: ${line.text}`, onclick: change }, "Change"));
}

/** @param {App} app @param {string} key */
function show(app, key) {
  open.line = key;
  app.draw();
  /** @type {HTMLElement | null} */ (document.querySelector(key ? ".hand textarea" : '[data-key="title"]'))?.focus({ preventScroll: !key });
}

/** @param {Stop | null} stop */
function blank(stop) {
  return /** @type {Shown} */ ({ key: open.line, stop, tank: stop?.tank ?? "", kind: "worry", text: "", by: "", source: "", entry: null });
}

/** A new line is being written here. @param {App} app @param {Stop | null} stop */
function opened(app, stop) {
  return open.line.startsWith(`own ${stop?.id ?? ANY} `) && !(kept(app, stop)[open.line] ?? "").trim();
}

/** @param {App} app @param {Shown} line */
function editor(app, line) {
  const typed = kept(app, line.stop);
  let kind = /** @type {LineKind} */ (typed[`${line.key} kind`] ?? line.kind);
  const area = /** @type {HTMLTextAreaElement} */ (h("textarea", { id: "hand-text", rows: 2, maxlength: 280 }));
  area.value = line.text;
  const day = /** @type {HTMLInputElement} */ (h("input", { id: "hand-by", type: "date" }));
  day.value = line.by || app.round.pack.round.business_date;
  const error = h("p", { class: "field-err", role: "alert", hidden: true }, "Write the line, or take it out.");
  const until = h("div", { class: "field", hidden: kind !== "do" }, h("label", { for: "hand-by" }, "By which day"), day);
  const kinds = h("div", { class: "choices hand-kinds", role: "group", "aria-label": "What kind of line" });
  const pick = (/** @type {LineKind} */ to) => {
    kind = to;
    until.hidden = to !== "do";
    kinds.replaceChildren(...Object.entries(KIND_WORDS).map(([code, word]) => button(word, () => pick(/** @type {LineKind} */ (code)), { class: code === kind ? "btn btn-wet btn-act" : "btn btn-wet", "aria-pressed": String(code === kind) })));
  };
  pick(kind);
  const write = () => {
    const text = area.value.trim();
    error.hidden = Boolean(text);
    if (!text) return area.focus();
    keep(app, line.stop, line.key, text);
    keep(app, line.stop, `${line.key} kind`, kind);
    keep(app, line.stop, `${line.key} by`, day.value);
    show(app, "");
  };
  const out = () => {
    keep(app, line.stop, line.key, "");
    show(app, "");
  };
  return h("div", { class: "field hand-edit" }, kinds, h("label", { for: "hand-text" }, "What the next one must know"), area, until, error, h("div", { class: "acts" }, button("Keep the line", write, { class: "btn btn-act btn-wet" }), button(line.text ? "Take it out" : "No line", out, { class: "btn btn-wet" })));
}

/** @param {App} app @param {Stop | null} stop @param {number} n */
function adder(app, stop, n) {
  const left = MOST_A_TANK - n;
  if (left <= 0 || opened(app, stop)) return null;
  return button(`Add a line, ${left} left`, () => add(app, stop), { class: "btn addl", "aria-label": `Add a line about ${stop ? app.round.codeOf(stop) : "the whole gallery"}, ${left} left` });
}

/** @param {App} app @param {Stop | null} stop */
function add(app, stop) {
  let n = 1;
  while ((kept(app, stop)[`own ${stop?.id ?? ANY} ${n}`] ?? "") !== "") n += 1;
  show(app, `own ${stop?.id ?? ANY} ${n}`);
}

/** @param {App} app @param {Stop[]} rest */
function aboutATank(app, rest) {
  const choose = /** @type {HTMLSelectElement} */ (h("select", { id: "hand-tank", onchange: () => add(app, rest[Number(choose.value)]) }, h("option", { value: "" }, "choose"), rest.map((stop, n) => h("option", { value: String(n) }, `${app.round.codeOf(stop)} ${app.round.tankOf(stop)?.title ?? ""}`))));
  return h("div", { class: "field hand-more" }, h("label", { for: "hand-tank" }, "Add a line about another tank"), choose);
}

/**
 * To whom: the next shift, or a name.
 * @param {App} app
 * @returns {HTMLElement[]} none while it is not being chosen
 */
export function whoSection(app) {
  if (!open.choosing) return [];
  const mine = app.round.context.person_id;
  const pick = (/** @type {string} */ id) => {
    open.choosing = false;
    keep(app, null, "handed to", id);
    app.draw();
  };
  const now = handedTo(app)?.id ?? "";
  const choice = (/** @type {string} */ id, /** @type {string} */ name, /** @type {string} */ small) => h("button", { class: "choice", type: "button", "aria-pressed": String(now === id), onclick: () => pick(id) }, h("b", {}, name), h("span", {}, small));
  return [h("section", { class: "hand-who" }, h("h2", { class: "half-h", tabindex: -1, "data-key": "who" }, "Hand over to whom?"), h("div", { class: "choices" }, choice("", "The next shift", "whoever begins next"), app.round.pack.people.filter((person) => person.id !== mine).map((person) => choice(person.id, person.name, person.role.replace("_", " ")))))];
}

/** @param {App} app */
export function chooseWho(app) {
  open.choosing = true;
  app.draw();
  /** @type {HTMLElement | null} */ (document.querySelector('[data-key="who"]'))?.focus();
}
