// Each tap of a card: written with its second, the opening before it where it is the first.

import { tenBytes, uuid7 } from "../outbox/envelope.js";
import * as incident from "./kinds/incident.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Card} Card */
/** @typedef {import("./emergencies.js").Emergency} Emergency */
/** @typedef {import("./first_minute.js").FirstMinute} FirstMinute */

/**
 * The one that the panel shows: by its id, else one of this card that is open.
 * @param {App} app
 * @param {Card} card
 * @param {FirstMinute} panel
 * @returns {Emergency | null}
 */
export function runningOf(app, card, panel) {
  const all = app.round.emergencies;
  const named = all.find((one) => one.id === panel.id);
  if (named || panel.id) return named ?? null;
  return all.findLast((one) => one.card === card.code && !one.closedAt && one.drill === Boolean(panel.drill)) ?? null;
}

/**
 * Opens a card from the picker: its clock starts. One that is open already is shown.
 * @param {App} app
 * @param {Card} card
 * @param {boolean} drill
 */
export async function beginCard(app, card, drill) {
  /** @type {FirstMinute} */
  const panel = { name: "first_minute", card: card.code, drill };
  if (runningOf(app, card, panel)) return app.open(panel);
  return tap(app, card, panel, null, null, `${card.title}. The clock runs`);
}

/**
 * @param {App} app
 * @param {Card} card
 * @param {FirstMinute} panel
 * @param {Emergency | null} running
 * @param {((which: incident.Which) => import("../outbox/envelope.js").Draft) | null} what  null: only opened, or joined
 * @param {string} spoken
 */
export async function tap(app, card, panel, running, what, spoken) {
  const now = app.round.clock.now().getTime();
  const which = running ?? { id: uuid7(now, tenBytes()), card: card.code, drill: Boolean(panel.drill) };
  const drafts = running ? (isMine(app, running) ? [] : [incident.step(which, "joined")]) : [incident.open(which)];
  if (what) drafts.push(what(which));
  /** @type {FirstMinute} */
  const next = { ...panel, id: which.id, ask: null };
  app.panel = next;
  if (!(await app.enter(null, drafts, spoken))) app.panel = running ? next : { ...next, id: null };
  app.draw();
}

/**
 * Somebody with this name has tapped on it.
 * @param {App} app
 * @param {Emergency} running
 */
export function isMine(app, running) {
  const me = app.round.personName(app.round.context.person_id);
  return running.taps.some((one) => one.by === me);
}
