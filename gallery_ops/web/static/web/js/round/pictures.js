// What has happened, as a picture; its words stand beside it.

import { s } from "./dom.js";

/** Name and attributes of each shape. @type {Record<string, [string, Record<string, string>][]>} */
const PICTURES = {
  gas: [["path", { class: "w", d: "M4 68Q22 56 40 62Q60 68 78 60Q94 54 108 62V78H4Z" }], ["path", { class: "i", d: "M46 62V24Q46 14 56 14Q66 14 66 24V62" }], ["path", { class: "l", d: "M56 14V8M50 6H62M66 8Q76 8 78 18" }], ["path", { class: "l", d: "M78 24V30M84 20L89 24M72 22L68 27" }], ["path", { class: "l", d: "M4 78H108" }]],
  hurt: [["circle", { class: "i", cx: "20", cy: "62", r: "9" }], ["path", { class: "i", d: "M32 58Q46 52 62 58L100 64V74L60 72L32 72Z" }], ["path", { class: "l", d: "M4 78H108M46 56L36 44M62 40V22M53 31H71" }]],
  water: [["path", { class: "w", d: "M20 22H80V58H20Z" }], ["path", { class: "l", d: "M20 14V60H80V14" }], ["path", { class: "l", d: "M80 40Q92 42 94 56" }], ["path", { class: "i", d: "M95 60Q100 67 95 70Q90 67 95 60Z" }], ["path", { class: "w", d: "M56 80Q58 72 78 73Q106 72 108 80Z" }], ["path", { class: "l", d: "M4 80H108" }]],
  glass: [["path", { class: "w", d: "M16 22H96V68H16Z" }], ["path", { class: "l", d: "M16 12V70H96V12" }], ["path", { class: "l t", d: "M44 12L52 30L42 42L58 54L50 70M52 30L70 36M58 54L76 60" }]],
  power: [["path", { class: "i", d: "M14 30H40V54H14Z" }], ["path", { class: "l", d: "M40 36H50M40 48H50M4 42H14" }], ["path", { class: "l", d: "M98 30H72V54H98ZM72 36H66M72 48H66M98 42H108" }], ["path", { class: "l d", d: "M58 14V70" }]],
  gasping: [["path", { class: "w", d: "M10 30H102V76H10Z" }], ["path", { class: "l", d: "M10 14V78H102V14" }], ["path", { class: "lv", d: "M10 30H102" }], ["path", { class: "i", d: "M38 34Q50 40 44 56L52 66L36 62L28 64L32 54Q28 42 38 34ZM70 34Q82 40 76 56L84 66L68 62L60 64L64 54Q60 42 70 34Z" }], ["circle", { class: "r", cx: "38", cy: "24", r: "3" }], ["circle", { class: "r", cx: "70", cy: "22", r: "3" }]],
};

/**
 * @param {string} card
 */
export function picture(card) {
  const shapes = PICTURES[card] ?? [["path", { class: "i", d: "M56 10L88 42L56 74L24 42Z" }]];
  return s("svg", { class: "fm-pic", viewBox: "0 0 112 84", "aria-hidden": "true", focusable: "false" }, shapes.map(([name, attrs]) => s(name, attrs)));
}
