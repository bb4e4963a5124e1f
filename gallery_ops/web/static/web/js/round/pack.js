// The round pack as the screens read it. Shape: round_pack.schema.json.

/**
 * @typedef {{text: string, value?: number | null, at: string, by: string | null}} Last
 * @typedef {{on: string, reason: string, in_a_row: number}} SkippedLast
 * @typedef {{id: string, code: string, name: string, harm: "A" | "B" | "C" | "D", skill: string, late_from: string | null, skipped_last: SkippedLast | null, next_on?: string | null, handed?: {to: string, by: string, at: string} | null}} Task
 * @typedef {{look: string, expect: string | null, last: Last | null, valid_from?: string, once_valid?: string, right?: string[], always?: string[]}} Look
 * @typedef {{parameter: string, why: "random" | "weekly" | "start_up" | "follow_up" | "each_round", task?: string | null, last: Last | null}} AskedReading
 * @typedef {{id: string, name: string, count: number | null}} Batch
 * @typedef {{amount: number, at: string, by: string, action_id: string | null}} Given
 * @typedef {{code: string, name: string, too_old_from?: string | null}} Bottle
 * @typedef {{task: string, product: string, source: string | null, plan_version: string, tool: "pump" | "cup", planned_ul: number, presses: number | null, per_press_ul: number | null, measured_on: string | null, bottle?: Bottle | null, next_bottle?: Bottle | null, rest_of?: string, gave?: {presses: number | null, ul: number, at: string}, empty?: string, given_today: Given[]}} Dose
 * @typedef {{task: string, product: string, source: string | null, plan_version: string, planned_mg: number, given_today: Given[]}} Feed
 * @typedef {{hard?: Pair, ask?: Pair, alarm?: Pair, jump?: number}} Ranges
 * @typedef {[number | null, number | null]} Pair
 * @typedef {{code: string, label: string, fill?: number, alarm?: boolean, normal?: boolean, first_minute?: string}} Option
 * @typedef {Ranges & {label: string, kind: "number" | "choice", unit?: string | null, step?: number, options?: Option[]}} Parameter
 * @typedef {{action_id: string, kind: string, task_id: string | null, person_id: string, done_at: string, body: any, verdict?: string, why?: string, entered_late?: boolean, paper?: true, corrects?: string | null, became?: any}} Entry
 * @typedef {{id: string, line: "changed" | "worry" | "do", text: string, tank: string | null, by: string | null, from: string, to: string | null, at: string, source: string | null}} HandedOver
 * @typedef {{id: string, tank: string | null, name: string | null, empty_day: number | null, own_tools: boolean, since: string[], tasks: Task[], check: string | null, looks: Look[], readings: AskedReading[], batches: Batch[], doses: Dose[], feeds: Feed[], limits?: Record<string, Ranges>, asks_photo?: boolean, elsewhere?: string | null, entries: Entry[]}} Stop
 * @typedef {{code: string, title: string | null, width_mm: number, depth_mm: number, height_mm: number, stop: string | null, state: import("./marks.js").StopMark, drawing: string | null, drawing_small: string | null}} Tank
 * @typedef {{code: string, label: string, effect: string, line: "moves" | "late" | "handed" | "rests" | "linked" | "first_minute", asks: null | "value" | "date" | "hour" | "person" | "words" | "entry"}} Reason
 * @typedef {{code: string, title: string, first: string, lines: string[], address: string, language?: string, tile?: boolean, people?: boolean, say?: string, cannot?: string, afterwards?: string[], stops?: "tank" | "room" | "gallery" | "nothing", released?: boolean, counts?: number | null, leads?: Record<string, string>}} Card  address: where we are, as said on the telephone
 * @typedef {{id: string, card: string, drill: boolean, taps: import("./emergencies.js").Tap[]}} OpenEmergency
 * @typedef {{id: string, name: string, role: string, skills: string[], pin?: {salt: string, iterations: number, verifier: string}}} Person
 * @typedef {{zone: string, is_here: boolean, person: string, name: string, at: string, is_over: boolean}} Claim  who walks a zone, as last heard
 * @typedef {object} Pack
 * @property {1} schema
 * @property {string} epoch
 * @property {string} made_at
 * @property {{name: string, zone: string, language: string, decimal_mark: "." | ",", cut_off_hour: number}} showroom
 * @property {{id: string, kind: string, name: string, business_date: string, zone: string | null, opened_at: string | null, closed_at: string | null, planned_minutes: number | null}} round
 * @property {{person: string, last_shift_on: string | null}} you
 * @property {{pin_salt: string}} [tablet]  only for an enrolled tablet
 * @property {Claim[]} [claims]
 * @property {{id: string, code: string, name: string, opened_at: string | null, tasks: number}[]} [before]  earlier rounds of this zone and day, still open
 * @property {Person[]} people
 * @property {Tank[]} tanks
 * @property {Stop[]} stops
 * @property {Record<string, {label: string, fields: string[]}>} looks
 * @property {Record<string, Parameter>} parameters
 * @property {Record<string, {name: string}>} products
 * @property {Reason[]} reasons
 * @property {HandedOver[]} [handover]  for you, not read yet
 * @property {Card[]} cards
 * @property {{name: string, number: string, what?: string}[]} telephones
 * @property {{ring: {name: string, number: string}, at_work: string[], rooms: import("./emergencies.js").Room[], open: OpenEmergency[]}} [emergency]  what a card needs without a network
 */

export const OWN_TOOLS = "own_tools";

/**
 * The looks of a stop in the order of the eyes; own tools come before all others where they are required.
 * @param {Stop} stop
 * @returns {Look[]}
 */
export function looksOf(stop) {
  if (!stop.own_tools || stop.looks.some((look) => look.look === OWN_TOOLS)) return stop.looks;
  return [{ look: OWN_TOOLS, expect: "nets, hose and towel of this tank only", last: null }, ...stop.looks];
}

/**
 * @param {Stop} stop
 * @param {string} code
 * @returns {Task | null}
 */
export function taskOf(stop, code) {
  return stop.tasks.find((task) => task.code === code) ?? null;
}

/**
 * Reads a pack, or says why it cannot be used.
 * @param {any} json
 * @returns {Pack}
 */
export function readPack(json) {
  if (!json || json.schema !== 1 || !Array.isArray(json.stops) || !Array.isArray(json.tanks)) {
    throw new Error("This round was made for another version of the page. Load the page again.");
  }
  for (const stop of json.stops) for (const task of stop.tasks) task.name = THE[task.code] ?? inSentence(task.name);
  for (const product of Object.values(json.products)) product.name = inSentence(product.name);
  return json;
}

/** @type {Record<string, string>} */
const THE = { look: "the look", feed: "the food", dose: "the dose" };

/**
 * A name as it stands inside a sentence; a name in capitals, as CO2, stays.
 * @param {string} name
 */
function inSentence(name) {
  return /^\p{Lu}\p{Ll}/u.test(name) ? name.charAt(0).toLowerCase() + name.slice(1) : name;
}
