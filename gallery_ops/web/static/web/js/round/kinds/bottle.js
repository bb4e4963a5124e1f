// The bottle in the hand: which code stands on its label, and may this tank be fed from it?
// The alphabet and its check character are those of gallery_ops/kernel/values/codes.py.

const ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ";
const LENGTH = 8;
const LONGEST = 300;

/** @typedef {import("../pack.js").Dose} Dose */

/**
 * @param {string} code
 * @returns {boolean} eight characters of the alphabet, the last one in its place
 */
export function isCode(code) {
  const values = [...code].map((character) => ALPHABET.indexOf(character));
  if (values.length !== LENGTH || values.includes(-1)) return false;
  return values.reduce((sum, value, place) => sum + (LENGTH - place) * value, 0) % ALPHABET.length === 0;
}

/**
 * The code in what was typed, or in the address that a reader of labels typed for somebody.
 * @param {string} text
 * @returns {string | null}
 */
export function codeIn(text) {
  const bare = text.trim().slice(0, LONGEST).toUpperCase();
  if (bare.includes("/")) return bare.split(/[/?#&=\s]+/).find(isCode) ?? null;
  const code = bare.replace(/[\s\u002d\u2010-\u2014\u2212]/g, "");
  return isCode(code) ? code : null;
}

/**
 * @param {string} code
 * @returns {string} in two groups of four, as on the label
 */
export function printed(code) {
  return `${code.slice(0, 4)}-${code.slice(4)}`;
}

/**
 * Why this tank must not be given its dose from the bottle in the hand; null when it may, or when
 * nobody read a label.
 * @param {Dose} dose
 * @param {string | undefined} inHand  code of that bottle
 * @param {string} tank
 * @param {string} today  business day of the round
 * @returns {string | null}
 */
export function stops(dose, inHand, tank, today) {
  const code = inHand ?? dose.bottle?.code;
  if (code && code === dose.empty) return `${printed(code)} ran empty. Take the next one.`;
  if (dose.rest_of && code && code !== dose.empty) return null; // any next one may take its place; the gallery looks whether it can
  const limit = dose.bottle?.too_old_from;
  if (dose.bottle && code === dose.bottle.code && limit && limit <= today) return `${dose.bottle.name}, ${printed(code)}, is past its date since ${limit}. Set it aside and take the next.`;
  if (!inHand || inHand === dose.bottle?.code) return null;
  const right = dose.bottle ? `${dose.bottle.name}, ${printed(dose.bottle.code)}, feeds it` : "no bottle is connected to it";
  return `${printed(inHand)} does not feed ${tank}: ${right}.`;
}
