// One entry in words, as somebody would say it who had made it.

import { placeWords } from "./emergencies.js";

/** @typedef {import("../outbox/envelope.js").Action} Action */
/** @typedef {import("./pack.js").Pack} Pack */
/** @typedef {import("./words.js").Words} Words */

/** @type {Record<string, (body: any, pack: Pack, words: Words) => string>} */
const SAID = {
  check: (body, pack, words) => check(body, pack, words),
  unable: (body, pack) => `Could not measure ${label(pack, body.check)}`,
  dose: (body, pack, words) => `Gave ${body.presses ? `${body.presses} ${body.presses === 1 ? "press" : "presses"}, ` : ""}${words.ml(body.given_ul, 2)} of ${product(pack, body.product)}`,
  feed: (body, pack, words) => `Fed ${words.grams(body.given_mg)} of ${product(pack, body.product)}`,
  complete: () => "Done",
  skip: (body, pack) => `Skipped: ${(pack.reasons.find((reason) => reason.code === body.reason)?.label ?? body.reason).toLowerCase()}`,
  animal: (body) => `Animal ${body.what}${body.count ? `, ${body.count}` : ""}`,
  photo: () => "Photo",
  note: (body) => `Note: ${short(String(body.text ?? ""))}`,
  handover_line: (body) => `Handed over: ${short(body.text)}`,
  handover_read: () => "Handover read",
  incident_open: (body, pack) => `Card opened: ${cardTitle(pack, body.card)}`,
  incident_step: (body, pack) => `${cardTitle(pack, body.card)}: ${stepWords(body, pack)}`,
  incident_close: (body, pack) => `${cardTitle(pack, body.card)}: ${body.how === "nothing" ? "it was nothing" : `over, decided by ${short(String(body.decided_by ?? ""))}`}`,
  undo: () => "Taken back",
  move_record: (body) => `Moved to ${body.tank}`,
  amend: () => "Number put right",
  round_open: () => "Round opened",
  stop_leave: (body) => `${body.done} of ${body.of}, left half done`,
  round_close: () => "Round closed",
  weigh: (body, _pack, words) => `Weighed ${words.grams(body.gross_mg)}`,
};

/**
 * @param {Action} action
 * @param {Pack} pack
 * @param {Words} words
 * @returns {string}
 */
export function entryWords(action, pack, words) {
  return SAID[action.kind]?.(action.body, pack, words) ?? action.kind.replaceAll("_", " ");
}

/** @param {Pack} pack @param {string} code */
function cardTitle(pack, code) {
  return pack.cards.find((card) => card.code === code)?.title ?? code.replaceAll("_", " ");
}

/** @param {any} body @param {Pack} pack */
function stepWords(body, pack) {
  if (body.step === "done") return `line ${body.line}`;
  if (body.step === "place") return placeWords(body.place, pack.emergency?.rooms ?? []);
  if (body.step === "out") return `${body.text} is out`;
  return body.step === "rung" ? `rung ${body.text}` : short(String(body.text ?? body.step));
}

/** @param {any} body @param {Pack} pack @param {Words} words */
function check(body, pack, words) {
  if (body.value === "all_normal") return "Looked, all as it should be";
  const name = capital(label(pack, body.check));
  if (body.value === "counted") return `${name}: counted`;
  if (body.value === "different") return `${name}: different${body.text ? `, ${short(body.text)}` : ""}`;
  const parameter = pack.parameters[body.check];
  const option = parameter?.options?.find((one) => one.code === body.value);
  return `${name} ${option ? option.label : words.number(body.value)}${body.unit ? ` ${body.unit}` : ""}`;
}

/** @param {Pack} pack @param {string} code */
function label(pack, code) {
  return pack.parameters[code]?.label ?? pack.looks[code]?.label ?? String(code).replaceAll("_", " ");
}

/** @param {Pack} pack @param {string} id */
function product(pack, id) {
  return pack.products[id]?.name ?? "a product of before";
}

/** @param {string} text */
function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** @param {string} text */
function short(text) {
  return text.length > 60 ? `${text.slice(0, 59)}…` : text;
}
