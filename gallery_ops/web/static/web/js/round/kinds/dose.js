// One dose: how much was given, how it reads, and when it is asked about.

/** @typedef {import("../pack.js").Dose} Dose */
/** @typedef {import("../words.js").Words} Words */
/** @typedef {{presses: number | null, ul: number, text: string | null}} Amount */

/**
 * As the plan says.
 * @param {Dose} dose
 * @returns {Amount}
 */
export function planned(dose) {
  return dose.tool === "pump" && dose.presses !== null ? pressed(dose, dose.presses) : { presses: null, ul: dose.planned_ul, text: null };
}

/**
 * @param {Dose} dose
 * @param {number} presses
 * @returns {Amount}
 */
export function pressed(dose, presses) {
  return { presses, ul: presses * (dose.per_press_ul ?? 0), text: null };
}

/**
 * @param {number} ul
 * @param {string} text  as typed
 * @returns {Amount}
 */
export function measured(ul, text) {
  return { presses: null, ul, text };
}

/**
 * From 1.5 times the plan it asks, from twice the plan it opens the card, over five times it is refused.
 * Compared in presses for a pump: a press is what was planned.
 * @param {Dose} dose
 * @param {Amount} amount
 * @returns {null | "ask" | "double" | "refuse"}
 */
export function asks(dose, amount) {
  const [given, plan] = amount.presses !== null && dose.presses !== null ? [amount.presses, dose.presses] : [amount.ul, dose.planned_ul];
  if (given > 5 * plan) return "refuse";
  if (given >= 2 * plan) return "double";
  return 2 * given >= 3 * plan ? "ask" : null;
}

/**
 * What the empty bottle could not give: from the next one, and no second dose.
 * @param {Dose} dose
 * @param {import("../pack.js").Entry} entry  the dose whose bottle ran empty
 * @returns {Dose}
 */
export function restOf(dose, entry) {
  const presses = dose.presses === null || entry.body.presses === null ? null : Math.max(1, dose.presses - entry.body.presses);
  return { ...dose, presses, planned_ul: Math.max(1, dose.planned_ul - entry.body.given_ul), bottle: dose.next_bottle ?? null, next_bottle: null, rest_of: entry.action_id, gave: { presses: entry.body.presses, ul: entry.body.given_ul, at: entry.done_at }, empty: entry.body.bottle ?? entry.body.empty ?? dose.bottle?.code, given_today: [] };
}

/**
 * @param {Dose} dose
 * @param {Amount} amount
 */
export function isShort(dose, amount) {
  return amount.presses !== null && dose.presses !== null ? amount.presses < dose.presses : amount.ul < dose.planned_ul;
}

/**
 * Fewer presses than planned: either the bottle ran empty, or that is all it gets; only a person knows.
 * @param {Dose} dose
 * @param {Amount} amount
 */
export function isFewer(dose, amount) {
  return dose.tool === "pump" && amount.presses !== null && isShort(dose, amount);
}

/**
 * "9 presses", "6 of 9 presses", "32 mL"
 * @param {Dose} dose
 * @param {Amount} amount
 * @param {Words} words
 */
export function says(dose, amount, words) {
  if (amount.presses === null) return amount.ul === dose.planned_ul ? words.ml(amount.ul) : `${words.ml(amount.ul)} of ${words.ml(dose.planned_ul)}`;
  const plan = dose.presses ?? amount.presses;
  return amount.presses === plan ? `${plan} ${plan === 1 ? "press" : "presses"}` : `${amount.presses} of ${plan} ${plan === 1 ? "press" : "presses"}`;
}

/**
 * "8.3 mL fertiliser at 0.924 mL a press"
 * @param {Dose} dose
 * @param {Amount} amount
 * @param {string} product
 * @param {Words} words
 */
export function explains(dose, amount, product, words) {
  if (amount.presses === null) return `${product} by measuring cup`;
  const made = dose.measured_on === null ? ", not measured yet" : "";
  return `${words.ml(amount.ul)} ${product} at ${words.ml(dose.per_press_ul ?? 0, 3)} a press${made}`;
}

/**
 * @param {import("../pack.js").Stop} stop
 * @param {Dose} dose
 * @param {Amount} amount
 * @param {{earlier: string | null, reason: string} | null} again
 * @param {string} [inHand]  code of the bottle whose label was read
 * @param {string} [less]  why fewer presses are all it gets; empty or left out: the bottle ran empty
 * @returns {import("../../outbox/envelope.js").Draft}
 */
export function draft(stop, dose, amount, again, inHand, less) {
  const fewer = isFewer(dose, amount);
  const short = fewer && !less;
  const bottle = inHand ?? (dose.rest_of ? dose.bottle?.code : undefined);
  return {
    kind: "dose",
    stop_id: stop.id,
    task_id: dose.task,
    plan_version: dose.plan_version,
    body: {
      product: dose.product,
      source: dose.source,
      planned_ul: dose.planned_ul,
      given_ul: amount.ul,
      presses: amount.presses,
      per_press_ul: dose.tool === "pump" ? dose.per_press_ul : null,
      text: amount.text,
      again,
      short: short ? "bottle_empty" : fewer ? "less" : null,
      ...(fewer && less ? { less } : {}),
      ...(bottle ? { bottle } : {}),
      ...(short && !bottle && dose.bottle ? { empty: dose.bottle.code } : {}),
      ...(dose.rest_of ? { rest_of: dose.rest_of, ...(bottle && dose.empty ? { replaces: dose.empty } : {}) } : {}),
    },
  };
}
