// What must the next shift know? Lines drafted from what was entered, by the same rules as the gallery's own.
// maintenance/schedule/handover_draft.py says the same of the same entries; one table of cases holds both.

import { holding } from "./state.js";

/** @typedef {import("./pack.js").Pack} Pack */
/** @typedef {import("./pack.js").Stop} Stop */
/** @typedef {import("./pack.js").Entry} Entry */
/** @typedef {"changed" | "worry" | "do"} LineKind */

/**
 * @typedef {object} Line
 * @property {string} tank  code; empty for the whole gallery
 * @property {LineKind} kind
 * @property {string} text
 * @property {string} by  local date; empty for none
 * @property {string} source  what it follows from, as "reading 08:12"
 * @property {string} entry  id of that action
 */

export const MOST_A_TANK = 3;
const LONGEST = 280;
const QUICK_MS = 10_000;
const RANK = { worry: 0, do: 1, changed: 2 };
const SILENT = new Set(["already_done", "tank_empty", "not_needed"]);
/** @type {Record<string, string>} */
const THE = { look: "The look", feed: "The food", dose: "The dose" };
/** @type {Record<string, string>} */
const WORD = { check: "reading", animal: "animals", unable: "reading" };
const DAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
const MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];

/**
 * @param {Pack} pack
 * @param {(stop: Stop) => Entry[]} entriesOf  oldest first; what was taken back or moved elsewhere says nothing
 * @returns {Line[]} in walking order, per tank at most three: worries first
 */
export function draftLines(pack, entriesOf) {
  return pack.stops.flatMap((stop) => {
    const lines = holding(entriesOf(stop)).flatMap((entry) => lineOf(pack, stop, entry) ?? []);
    return lines.sort((a, b) => RANK[a.kind] - RANK[b.kind]).slice(0, MOST_A_TANK);
  });
}

/**
 * Stops at which less than ten seconds passed since the last entry elsewhere. That time holds the way there;
 * the first stop cannot be told, and neither can what was typed in from paper.
 * @param {Pack} pack
 * @param {(stop: Stop) => Entry[]} entriesOf
 * @returns {string[]} codes
 */
export function quickStops(pack, entriesOf) {
  const all = pack.stops.map((stop) => holding(entriesOf(stop)).filter((entry) => !entry.paper));
  const at = (/** @type {Entry} */ entry) => Date.parse(entry.done_at);
  return pack.stops.flatMap((stop, n) => {
    const look = all[n].find((entry) => entry.kind === "check" && entry.body.value === "all_normal");
    if (!look) return [];
    const before = all.flatMap((entries, other) => (other === n ? [] : entries.map(at))).filter((time) => time <= at(look));
    return before.length && at(look) - Math.max(...before) < QUICK_MS ? [stop.tank ?? stop.name ?? ""] : [];
  });
}

/**
 * @param {Pack} pack
 * @param {Stop} stop
 * @param {Entry} entry
 * @returns {Line | null}
 */
function lineOf(pack, stop, entry) {
  const plain = SAYING[entry.kind]?.(pack, stop, entry.body, entry.done_at) ?? null;
  /** @type {[LineKind, string] | null} */
  const said = entry.verdict === "held" ? ["worry", `${plain?.[1] ?? plainly(pack, stop, entry)}. It waits for a person${entry.why ? `: ${entry.why}` : ""}`] : plain;
  if (!said) return null;
  const marks = [...said[1]];
  return {
    tank: stop.tank ?? "",
    kind: said[0],
    text: marks.length <= LONGEST ? said[1] : `${marks.slice(0, LONGEST - 1).join("")}…`,
    by: said[0] === "do" ? day(pack) : "",
    source: `${WORD[entry.kind] ?? entry.kind} ${clock(pack, entry.done_at)}`,
    entry: entry.action_id,
  };
}

/**
 * What was entered, where that alone would be no news.
 * @param {Pack} pack
 * @param {Stop} stop
 * @param {Entry} entry
 * @returns {string}
 */
function plainly(pack, stop, { kind, body, task_id }) {
  const { decimal_mark: mark } = pack.showroom;
  if (kind === "dose" || kind === "feed") {
    const [amount, unit] = kind === "dose" ? [body.given_ul, "mL"] : [body.given_mg, "g"];
    return `Given ${String(Math.floor((amount + 5) / 10) / 100).replace(".", mark)} ${unit} of ${inSentence(pack.products[body.product]?.name ?? "the product")}`;
  }
  if (kind === "check" && body.value === "all_normal") return "Looked, all as it should be";
  if (kind === "check" && body.value === "counted") return "Animals counted";
  if (kind === "check") {
    const option = pack.parameters[body.check]?.options?.find((o) => o.code === body.value);
    return `${label(pack, body.check)}: ${option?.label ?? body.value.replace(".", mark)}${body.unit ? ` ${body.unit}` : ""}`;
  }
  return capital(stop.tasks.find((t) => t.id === task_id)?.name ?? "") || "An entry";
}

/** @type {Record<string, (pack: Pack, stop: Stop, body: any, doneAt: string) => [LineKind, string] | null>} */
const SAYING = {
  check: (pack, stop, body, doneAt) => {
    if (body.value === "all_normal") return null;
    if (body.value === "counted") return counted(stop, body);
    if (body.value === "different") return ["changed", `${label(pack, body.look ?? body.check)}: ${body.text}`];
    const about = pack.parameters[body.check];
    if (!about) return null;
    const option = about.options?.find((o) => o.code === body.value);
    if (option) {
      const kind = judged(stop, body, option, doneAt);
      return kind && [kind, `${about.label}: ${option.label}`];
    }
    return number(pack, stop, body, about);
  },
  animal: (_pack, stop, body) => (body.what === "seen" ? null : ["worry", `${body.count || "Some"} ${stop.batches.find((b) => b.id === body.batch)?.name ?? "of unsure species"} ${body.what}`]),
  unable: (pack, _stop, body) => ["do", `${label(pack, body.check)} could not be measured: ${body.reason}`],
  dose: (pack, _stop, body) => {
    const name = inSentence(pack.products[body.product]?.name ?? "the product");
    if (body.short === "bottle_empty") return ["do", `The bottle of ${name} ran empty; the dose is short`];
    if (body.short === "less") return ["changed", `Less ${name} than planned: ${body.less ?? "no reason given"}`];
    return body.again ? ["worry", `A second dose of ${name} today: ${body.again.reason}`] : null;
  },
  skip: (pack, stop, body) => {
    if (SILENT.has(body.reason)) return null;
    const task = stop.tasks.find((t) => t.id === body.task);
    const name = task ? (THE[task.code] ?? capital(task.name)) : "A task";
    const reason = pack.reasons.find((r) => r.code === body.reason)?.label ?? "";
    const because = `${reason.charAt(0).toLowerCase()}${reason.slice(1)}${body.text ? `: ${body.text}` : ""}`;
    return body.until ? ["changed", `${name} rests until ${until(body.until)}, ${because}`] : ["do", `${name} left out, ${because}`];
  },
  note: (_pack, _stop, body) => ["changed", String(body.text)],
};

/**
 * A drop checker says nothing before its gas has run long enough.
 * @param {Stop} stop
 * @param {any} body
 * @param {import("./pack.js").Option} option
 * @param {string} doneAt
 * @returns {LineKind | null}
 */
function judged(stop, body, option, doneAt) {
  const look = stop.looks.find((one) => one.look === body.look);
  if (look?.always?.includes(option.code)) return "worry";
  if (look?.valid_from && Date.parse(doneAt) < Date.parse(look.valid_from)) return null;
  if (look?.right) return look.right.includes(option.code) ? null : "worry";
  if (option.normal) return null;
  return option.alarm ? "worry" : body.look ? "changed" : null;
}

/**
 * A number outside its alarm range; one within it is no news.
 * @param {Pack} pack
 * @param {Stop} stop
 * @param {any} body
 * @param {import("./pack.js").Parameter} about
 * @returns {[LineKind, string] | null}
 */
function number(pack, stop, body, about) {
  const value = /^-?\d+(\.\d*)?$/.test(body.value) ? Number(body.value) : NaN;
  const [low, high] = { ...about, ...stop.limits?.[body.check] }.alarm ?? [null, null];
  const below = low !== null && value < low;
  if (!below && !(high !== null && value > high)) return null;
  const { decimal_mark: mark } = pack.showroom;
  const plain = (/** @type {number | null} */ n) => String(n).replace(".", mark);
  const pair = low === null ? `up to ${plain(high)}` : high === null ? `${plain(low)} or more` : `${plain(low)} to ${plain(high)}`;
  const last = stop.readings.find((r) => r.parameter === body.check && r.last)?.last ?? stop.looks.find((l) => l.last && pack.looks[l.look]?.fields.join() === body.check)?.last;
  return ["worry", `${about.label} ${body.value.replace(".", mark)}${body.unit ? ` ${body.unit}` : ""}, ${below ? "below" : "above"} the range of ${pair}${last ? `, was ${last.text}` : ""}`];
}

/**
 * Heads that are not as many as were known.
 * @param {Stop} stop
 * @param {any} body
 * @returns {[LineKind, string] | null}
 */
function counted(stop, body) {
  const other = (body.counts ?? []).flatMap((/** @type {{batch: string, count: number}} */ one) => {
    const batch = stop.batches.find((b) => b.id === one.batch);
    return !batch || batch.count === null || batch.count === one.count ? [] : { fewer: one.count < batch.count, text: `${one.count} ${batch.name}, ${batch.count} were there` };
  });
  if (!other.length) return null;
  return [other.some((/** @type {{fewer: boolean}} */ o) => o.fewer) ? "worry" : "changed", other.map((/** @type {{text: string}} */ o) => o.text).join("; ")];
}

/** @param {Pack} pack @param {string} key */
function label(pack, key) {
  return pack.looks[key]?.label || pack.parameters[key]?.label || key.replaceAll("_", " ");
}

/** @param {string} name */
function inSentence(name) {
  return /^\p{Lu}\p{Ll}/u.test(name) ? name.charAt(0).toLowerCase() + name.slice(1) : name;
}

/** @param {string} text */
function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** @param {Pack} pack @param {string} at */
function clock(pack, at) {
  return new Intl.DateTimeFormat("en-GB", { timeZone: pack.showroom.zone, hour: "2-digit", minute: "2-digit", hourCycle: "h23" }).format(new Date(at));
}

/** @param {string} text  a local date, or a date and hour */
function until(text) {
  if (text.length > 10) return text.slice(11);
  const on = new Date(`${text}T12:00:00Z`);
  return `${DAYS[on.getUTCDay()]} ${on.getUTCDate()} ${MONTHS[on.getUTCMonth()]}`;
}

/** @param {Pack} pack */
function day(pack) {
  const on = new Date(`${pack.round.business_date}T12:00:00Z`);
  if (pack.round.kind === "closing") on.setUTCDate(on.getUTCDate() + 1);
  return on.toISOString().slice(0, 10);
}
