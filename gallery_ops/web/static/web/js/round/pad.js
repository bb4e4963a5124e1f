// A number typed with one wet hand: digits, comma or point, and what it means.

import { button, h } from "./dom.js";

/**
 * @typedef {{value: string, number: number, text: string, limit: "" | "<" | ">"}} Typed
 *   value has a decimal point and no spaces; limit is written before it where the kit shows less or more than it can
 */

/**
 * Reads what was typed. Comma and point are both the decimal mark; marks for thousands are refused.
 * @param {string} text
 * @returns {{typed: Typed} | {sentence: string}}
 */
export function readNumber(text) {
  const plain = text.trim();
  if (!plain) return { sentence: "Nothing is typed yet. Type the number you read, or choose “Could not measure”." };
  const found = /^([<>]?)\s*([-+−]?)(\d+)(?:[.,](\d*))?$/.exec(plain) ?? /^([<>]?)\s*([-+−]?)()[.,](\d+)$/.exec(plain);
  if (!found) {
    const marks = (plain.match(/[.,]/g) ?? []).length;
    if (marks > 1) return { sentence: `“${plain}” has two marks. Write one comma or one point for the decimals, and none for thousands.` };
    return { sentence: `“${plain}” is not a number. Write digits with one comma or point, as 24.1, or <0.05 where the kit shows less than it can.` };
  }
  const [, limit, sign, whole, part] = found;
  const minus = sign === "-" || sign === "−" ? "-" : "";
  const value = `${minus}${(whole || "0").replace(/^0+(?=\d)/, "")}${part ? `.${part}` : ""}`;
  return { typed: { value: limit + value, number: Number(value), text: plain, limit: /** @type {"" | "<" | ">"} */ (limit) } };
}

/**
 * Thousandths of what was typed, exact: 0.18 g is 180 mg.
 * @param {Typed} typed
 * @returns {number | null} null when it is finer than that, negative, or only a limit
 */
export function thousandths({ value, limit }) {
  const found = /^(\d{1,6})(?:\.(\d{1,3}))?$/.exec(limit ? "" : value);
  return found ? Number(found[1]) * 1000 + Number((found[2] ?? "").padEnd(3, "0")) : null;
}

/**
 * One step up or down, exact: 24.1 and 0.1 give 24.2.
 * @param {number} from
 * @param {number} step
 * @param {1 | -1} way
 * @returns {string}
 */
export function stepped(from, step, way) {
  const places = Math.max(decimals(from), decimals(step));
  const scale = 10 ** places;
  return ((Math.round(from * scale) + way * Math.round(step * scale)) / scale).toFixed(places);
}

/** @param {number} value */
function decimals(value) {
  const text = String(value);
  return text.includes(".") ? text.length - text.indexOf(".") - 1 : 0;
}

/**
 * Number with minus and plus. Empty at first; the first press of minus or plus starts from the hint and says so.
 * @param {object} of
 * @param {string} of.label  with the unit
 * @param {string} of.unit
 * @param {number} of.step
 * @param {number | null} of.from  where minus and plus begin
 * @param {string} of.value  typed so far
 * @param {"." | ","} of.mark
 * @param {(text: string) => void} of.onInput
 * @param {string} [of.described]  id of the hint
 * @param {string} [of.key]  for the focus
 * @param {() => void} [of.onTap]  the field itself was tapped
 * @returns {{element: HTMLElement, input: HTMLInputElement}}
 */
export function stepper({ label, unit, step, from, value, mark, onInput, described, key, onTap }) {
  const input = /** @type {HTMLInputElement} */ (
    h("input", { type: "text", inputmode: "none", autocomplete: "off", enterkeyhint: "done", maxlength: 12, "aria-label": label, placeholder: unit, "aria-describedby": described, "data-key": key, oninput: () => onInput(input.value), onclick: onTap })
  );
  input.value = value;
  const move = (/** @type {1 | -1} */ way) => {
    const read = readNumber(input.value);
    const base = "typed" in read ? read.typed.number : from;
    if (base === null) return input.focus();
    const next = stepped(base, step, way);
    input.value = Number(next) < 0 && from !== null && from >= 0 ? "0" : next.replace(".", mark);
    onInput(input.value);
  };
  const less = button("−", () => move(-1), { class: "btn btn-wet", "aria-label": `${label}: ${String(step).replace(".", mark)} less` });
  const more = button("+", () => move(1), { class: "btn btn-wet", "aria-label": `${label}: ${String(step).replace(".", mark)} more` });
  return { element: h("div", { class: "stepper" }, less, input, more), input };
}

/**
 * The keys under a number: twelve of them, for one thumb.
 * @param {HTMLInputElement} input
 * @param {"." | ","} mark
 */
export function pad(input, mark) {
  const put = (/** @type {string} */ key) => {
    if (key === "erase") input.value = input.value.slice(0, -1);
    else if (input.value.length < 12) input.value += key;
    input.dispatchEvent(new Event("input"));
  };
  const keys = ["1", "2", "3", "4", "5", "6", "7", "8", "9", mark, "0", "erase"];
  return h(
    "div",
    { class: "pad", role: "group", "aria-label": "Digits" },
    keys.map((key) => button(key === "erase" ? "Erase" : key, () => put(key), { "aria-label": key === mark ? "decimal mark" : key === "erase" ? "Erase last digit" : null })),
  );
}
