// The round in memory: what the pack says, what was entered since, and what can be taken back.

import { localHour, restsUntilAnHour } from "./come_back.js";
import { correctedHere } from "./kinds/correction.js";
import { envelopes } from "../outbox/envelope.js";
import { isLetGo } from "../outbox/verdicts.js";
import { alarmed } from "./kinds/check.js";
import { emergencies, holdsTank, isOfEmergency, stopsWhere } from "./emergencies.js";
import { countsNoMore, holding, lastTap, stopState } from "./state.js";

/** @typedef {import("./pack.js").Pack} Pack */
/** @typedef {import("./pack.js").Stop} Stop */
/** @typedef {import("./pack.js").Entry} Entry */
/** @typedef {import("../outbox/envelope.js").Draft} Draft */
/** @typedef {import("../outbox/envelope.js").Action & {body: any}} Said */

const UNDO_MS = 600_000;

/** @param {import("../outbox/store.js").Verdict | null} verdict @returns {{verdict?: string, why?: string}} */
function heldBy(verdict) {
  return verdict?.verdict === "held" ? { verdict: "held", why: verdict.words ?? undefined } : {};
}

export class Round {
  /** @type {Map<string, import("./state.js").StopState>} */
  states = new Map();
  /** @type {import("../outbox/store.js").Kept[]} */
  log = [];
  /** Handed over on this tablet. @type {Said[]} */
  #left = [];
  /** Lines that somebody has read on this tablet. @type {Said[]} */
  #reads = [];
  /** Rounds in which something was entered on this tablet. @type {Set<string>} */
  walkedHere = new Set();
  /** Emergencies that the gallery or this tablet knows of, oldest first. @type {import("./emergencies.js").Emergency[]} */
  emergencies = [];
  /** Taps of emergencies in earlier rounds of this tablet. @type {import("../outbox/store.js").Kept[] | null} */
  #earlier = null;
  /** @type {((now: Date) => string) | null} */
  #hour = null;
  /** Closed on another tablet. @type {Set<unknown>} */
  #over = new Set();
  /** With what a write failed, or the store did not open; null from one that succeeds. @type {unknown} */
  refused = null;

  /**
   * @param {{pack: Pack, store: import("../outbox/sender.js").Store, context: import("../outbox/envelope.js").Context, clock: {now: () => Date, monotonic: () => number}, inPack?: Set<string>}} parts
   *   inPack: ids that the gallery had acknowledged before it gave the pack; what became of them, the pack says
   */
  constructor({ pack, store, context, clock, inPack = new Set() }) {
    this.pack = pack;
    this.store = store;
    this.context = context;
    this.clock = clock;
    this.inPack = inPack;
    this.refused = store.shut;
    /** Of the device against the gallery [ms]. */
    this.offsetMs = 0;
  }

  /** False after a write that failed, until one succeeds. */
  get canKeep() {
    return this.refused === null;
  }

  /** The device's clock was compared; two seconds are none. @param {number | null} ms  null: it never was */
  measured(ms) {
    if (ms !== null) this.offsetMs = Math.abs(ms) > 2_000 ? ms : 0;
  }

  /** Now, by the gallery's clock. */
  now() {
    return new Date(this.clock.now().getTime() + this.offsetMs);
  }

  /**
   * @param {string} doneAt  by the device's clock
   * @returns {string} by the gallery's
   */
  corrected(doneAt) {
    return new Date(Date.parse(doneAt) + this.offsetMs).toISOString();
  }

  /** Reads what was entered here and works out every stop. */
  async refresh() {
    this.log = (await this.store.ofRound(this.pack.round.id)).filter(({ action }) => !this.inPack.has(action.action_id));
    this.#earlier ??= (await this.store.everything()).filter(({ action }) => isOfEmergency(action) && action.round_id !== this.pack.round.id && !this.inPack.has(action.action_id));
    this.emergencies = this.#emergencies();
    for (const stop of this.pack.stops) this.states.set(stop.id, stopState(stop, this.entriesAt(stop), alarmed(this.pack, stop), this.stoppedAt(stop) !== null, this.here()));
  }

  #emergencies() {
    const here = [...(this.#earlier ?? []), ...this.log.filter(({ action }) => isOfEmergency(action))];
    const all = emergencies(this.pack.emergency?.open ?? [], here.map(({ action }) => ({ entry: /** @type {Entry} */ ({ ...action, done_at: this.corrected(action.done_at) }), by: this.personName(action.person_id) })));
    return all.map((one) => (this.#over.has(one.id) ? { ...one, closedAt: one.closedAt ?? one.taps[one.taps.length - 1].at } : one));
  }

  /** Emergencies whose taps of this tablet the gallery has; one that it does not call open any more is over. */
  told() {
    const here = [...(this.#earlier ?? []), ...this.log.filter(({ action }) => isOfEmergency(action))];
    const waiting = new Set(here.filter(({ verdict }) => !verdict).map(({ action }) => action.body.incident));
    return new Set(this.emergencies.map((one) => one.id).filter((id) => !waiting.has(id)));
  }

  /**
   * What the gallery knows of open emergencies, heard anew.
   * @param {import("./pack.js").OpenEmergency[]} open
   * @param {Set<unknown>} told  as it was when the gallery was asked
   */
  async hear(open, told) {
    if (this.pack.emergency) this.pack.emergency.open = open;
    const still = new Set(open.map((one) => one.id));
    this.#over = new Set([...told].filter((id) => !still.has(/** @type {string} */ (id))));
    await this.refresh();
  }

  get rooms() {
    return this.pack.emergency?.rooms ?? [];
  }

  /**
   * The emergency during which nothing is given at this stop.
   * @param {Stop} stop
   */
  stoppedAt(stop) {
    const stops = (/** @type {string} */ code) => this.pack.cards.find((card) => card.code === code)?.stops;
    return this.emergencies.find((one) => holdsTank(stopsWhere(one, stops(one.card)), stop.tank, this.rooms)) ?? null;
  }

  /**
   * @param {Stop} stop
   * @returns {Entry[]} from the pack and from here, oldest first, also those taken back
   */
  entriesAt(stop) {
    const known = new Set(stop.entries.map((entry) => entry.action_id));
    const here = this.log
      .filter((kept) => kept.action.stop_id === stop.id && !known.has(kept.action.action_id) && !isLetGo(kept))
      .map(({ action, verdict }) => /** @type {Entry} */ ({ ...action, done_at: this.corrected(action.done_at), ...heldBy(verdict) }));
    return [...stop.entries, ...here, ...this.#corrected(stop).filter((entry) => !known.has(entry.action_id))];
  }

  /** @param {Stop} stop */
  #corrected(stop) {
    if (!this.log.some(({ action }) => ["move_record", "amend"].includes(action.kind))) return [];
    const all = this.log.filter((kept) => !isLetGo(kept)).map(({ action, verdict }) => /** @type {Entry} */ ({ ...action, done_at: this.corrected(action.done_at), ...heldBy(verdict) }));
    return correctedHere(stop, this.pack.stops, all);
  }

  /** Who is here, and the hour of the gallery. @returns {import("./come_back.js").Here} */
  here() {
    this.#hour ??= localHour(this.pack.showroom.zone);
    return { person_id: this.context.person_id, hour: this.#hour(this.now()) };
  }

  /** @param {string} at @returns {string} local date and hour of the gallery, as a skip says it */
  hourOf(at) {
    this.#hour ??= localHour(this.pack.showroom.zone);
    return this.#hour(new Date(at));
  }

  /** Something rests until an hour: what is to do changes without a tap. */
  rests() {
    return [...this.states.values()].some((state) => state.entries.some(restsUntilAnHour));
  }

  /** @param {Stop} stop */
  stateOf(stop) {
    const state = this.states.get(stop.id);
    if (!state) throw new Error(`No stop ${stop.id} in this round.`);
    return state;
  }

  /** @param {string | null} id */
  stopById(id) {
    return this.pack.stops.find((stop) => stop.id === id) ?? null;
  }

  /** @param {Stop} stop */
  tankOf(stop) {
    return this.pack.tanks.find((tank) => tank.code === stop.tank) ?? null;
  }

  /** @param {Stop} stop */
  codeOf(stop) {
    return stop.tank ?? stop.name ?? "";
  }

  /** @param {string} id */
  personName(id) {
    return this.pack.people.find((person) => person.id === id)?.name ?? "somebody";
  }

  /**
   * Lines of the shift before for whoever is here: those of the pack, and those that this tablet holds and the gallery had not when it gave the pack.
   * @returns {import("./pack.js").HandedOver[]}
   */
  handedOver() {
    const me = this.context.person_id;
    const name = this.personName(me);
    const packed = (this.pack.handover ?? []).filter((line) => line.from !== name && (line.to ?? name) === name);
    const known = new Set(packed.map((line) => line.id));
    const here = this.#left.filter(({ action_id, person_id, body }) => person_id !== me && (body.handed_to ?? me) === me && !known.has(action_id));
    return [...packed, ...here.map((action) => this.#line(action))];
  }

  /** @returns {import("./pack.js").HandedOver[]} those that this person has not said to have read */
  unread() {
    const me = this.context.person_id;
    const said = this.log.map(({ action }) => action).filter(({ kind }) => kind === "handover_read");
    const read = new Set([...this.#reads, ...said].filter(({ person_id }) => person_id === me).map(({ body }) => body.line));
    return this.handedOver().filter((line) => !read.has(line.id));
  }

  /** Reads once what other rounds of this tablet left behind. */
  async readHandover() {
    const kept = await this.store.everything();
    const all = kept.map(({ action }) => /** @type {Said} */ (action));
    this.walkedHere = new Set(all.map(({ round_id }) => round_id));
    const back = countsNoMore(kept.map(({ action, verdict }) => ({ .../** @type {Said} */ (action), verdict: verdict?.verdict })));
    this.#reads = all.filter(({ kind }) => kind === "handover_read");
    this.#left = all.filter(({ kind, action_id }) => kind === "handover_line" && !this.inPack.has(action_id) && !back.has(action_id));
  }

  /** @param {Said} action @returns {import("./pack.js").HandedOver} */
  #line({ action_id, stop_id, person_id, done_at, body }) {
    return { id: action_id, line: body.line, text: body.text, tank: body.tank ?? this.stopById(stop_id)?.tank ?? null, by: body.by, from: this.personName(person_id), to: body.handed_to ? this.personName(body.handed_to) : null, at: this.corrected(done_at), source: body.source };
  }

  get isOpen() {
    return this.pack.round.opened_at !== null || this.log.some(({ action }) => action.kind === "round_open");
  }

  get closedAt() {
    const here = this.log.findLast(({ action }) => action.kind === "round_close");
    return this.pack.round.closed_at ?? (here ? this.corrected(here.action.done_at) : null);
  }

  /**
   * Writes the entries of one tap. Resolves when they are durable and every stop is worked out anew.
   * @param {Draft[]} drafts
   * @param {() => unknown} [kept]  called at once when they are durable, waited for before the rest
   * @param {import("../outbox/photos.js").Picture[]} [pictures]  of the drafts of kind photo
   */
  async append(drafts, kept, pictures = []) {
    const onlyRead = drafts.every((draft) => draft.kind === "handover_read"); // reading is not walking yet
    const ofEmergency = drafts.length > 0 && drafts.every(isOfEmergency);
    const opening = this.isOpen || onlyRead || ofEmergency ? [] : [{ kind: "round_open", stop_id: null, body: { position: drafts[0]?.stop_id ?? null } }];
    try {
      await this.store.append(envelopes([...opening, ...drafts], this.context, this.clock), pictures);
    } catch (error) {
      if (!pictures.length) this.refused = error ?? new Error("refused"); // no room for a photo is room for an entry
      throw error;
    }
    this.refused = null;
    await kept?.();
    await this.refresh();
  }

  /**
   * The last tap of the person, while it can be taken back.
   * @param {Stop | null} [only]  at this stop
   * @returns {{stop: Stop, entries: Entry[], until: Date} | null}
   */
  undoable(only = null) {
    /** @type {{stop: Stop, entries: Entry[], until: Date} | null} */
    let best = null;
    for (const stop of only ? [only] : this.pack.stops) {
      const own = holding(this.entriesAt(stop)).filter((entry) => entry.person_id === this.context.person_id);
      const entries = lastTap(own);
      if (!entries.length) continue;
      const at = Date.parse(entries[0].done_at);
      if (!best || at + UNDO_MS > best.until.getTime()) best = { stop, entries, until: new Date(at + UNDO_MS) };
    }
    return best && best.until > this.now() && !this.closedAt ? best : null;
  }

  /**
   * @param {{stop: Stop, entries: Entry[]}} tap
   */
  async undo({ stop, entries }) {
    await this.append(entries.map((entry) => ({ kind: "undo", stop_id: stop.id, task_id: entry.task_id, corrects: entry.action_id, body: { takes_back: entry.action_id } })));
  }
}
