// Is this number refused, asked about again, or an alarm? Decided from the pack's table, before anything is kept.

/** @typedef {import("./pack.js").Ranges} Ranges */

/**
 * @typedef {object} Judgement
 * @property {"low" | "high" | null} refuse
 * @property {"low" | "high" | null} ask
 * @property {"low" | "high" | "jump" | null} alarm
 * @property {Ranges} ranges
 * @property {number | null} other  the reading that may have been meant: ten times more or less
 */

/**
 * The ranges of a parameter, with those of the tank over them.
 * @param {Ranges} parameter
 * @param {Ranges | undefined} tank
 * @returns {Ranges}
 */
export function rangesFor(parameter, tank) {
  const { hard, ask, alarm, jump } = parameter;
  return { hard, ask, alarm, jump, ...tank };
}

/**
 * @param {number} value
 * @param {import("./pack.js").Pair | undefined} pair  null on a side: no limit there
 * @returns {"low" | "high" | null}
 */
export function outside(value, pair) {
  if (!pair) return null;
  const [low, high] = pair;
  if (low !== null && value < low) return "low";
  if (high !== null && value > high) return "high";
  return null;
}

/**
 * @param {number} value
 * @param {Ranges} ranges
 * @param {number | null} [last]  last time, for the difference
 * @returns {Judgement}
 */
export function judge(value, ranges, last = null) {
  const jumped = last !== null && ranges.jump !== undefined && Math.abs(value - last) >= ranges.jump - 1e-9;
  const ask = outside(value, ranges.ask);
  return {
    refuse: outside(value, ranges.hard),
    ask,
    alarm: outside(value, ranges.alarm) ?? (jumped ? "jump" : null),
    ranges,
    other: ask ? likelier(value, ranges) : null,
  };
}

/**
 * @param {number} value
 * @param {Ranges} ranges
 * @returns {number | null}
 */
function likelier(value, ranges) {
  for (const other of [value / 10, value * 10]) {
    if (!outside(other, ranges.alarm ?? ranges.ask) && !outside(other, ranges.hard)) return Number(other.toPrecision(6));
  }
  return null;
}
