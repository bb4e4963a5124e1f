// Where do entries wait until the gallery has them? At a desk in the memory of the page, on an
// enrolled tablet in its own database. Everything else knows only the methods of Store.

import { canonical } from "./envelope.js";
import { PagePhotos } from "./photos.js";
import { openTabletStore } from "./tablet_store.js";
import { isTaken } from "./verdicts.js";

/** @typedef {import("./envelope.js").Action} Action */

/**
 * @typedef {object} Verdict
 * @property {string | null} action_id
 * @property {"accepted" | "duplicate" | "held" | "differs" | "malformed" | "noted" | "refused" | "withdrawn"} verdict
 * @property {string | null} [reason]
 * @property {string | null} [words]
 * @property {string | null} [help]
 * @property {string} [decided_at]  when a person decided; then words are what became of it
 */

/**
 * @typedef {object} Kept
 * @property {Action} action
 * @property {Verdict | null} verdict  null while it waits
 */

/**
 * @typedef {object} Counts
 * @property {number} waiting
 * @property {number} held       needs a person
 * @property {number} unreadable  differs or malformed: to be reported
 * @property {string | null} oldest  done_at of the oldest that waits
 */

const MOST_BYTES = 500_000;

export class Store {
  /**
   * How long an entry lasts here: "page" until the page is closed, "tablet" beyond that.
   * @type {"page" | "tablet"}
   */
  holds = "page";
  /** Why what is kept here could not be opened; null where it was. @type {unknown} */
  shut = null;
  photos = new PagePhotos(() => this.#tell());

  /** @type {Kept[]} */
  #kept = [];
  /** @type {Map<string, object>} */
  #drafts = new Map();
  /** @type {Set<() => void>} */
  #listeners = new Set();
  #next;

  /** @param {{nextSeq: number}} from  first seq that the gallery has not had from this device */
  constructor({ nextSeq }) {
    this.#next = nextSeq;
  }

  /**
   * Writes all or none, in order. Resolves when they are durable; only then may a tick be shown.
   * @param {Omit<Action, "seq">[]} envelopes
   * @param {import("./photos.js").Picture[]} [pictures]  of the entries of kind photo: both are written or neither
   * @returns {Promise<Action[]>}
   */
  async append(envelopes, pictures = []) {
    const actions = envelopes.map((envelope, i) => /** @type {Action} */ ({ ...envelope, seq: this.#next + i }));
    this.photos.add(actions, pictures);
    this.#next += actions.length;
    this.#kept.push(...actions.map((action) => ({ action: Object.freeze(action), verdict: null })));
    this.#tell();
    return actions;
  }

  /**
   * What waits, oldest seq first.
   * @param {number} most
   * @returns {Promise<Action[]>}
   */
  async waiting(most) {
    let bytes = 0;
    /** @type {Action[]} */
    const batch = [];
    for (const { action, verdict } of this.#kept) {
      if (verdict) continue;
      bytes += canonical(action).length;
      if (batch.length === most || (batch.length && bytes > MOST_BYTES)) break;
      batch.push(action);
    }
    return batch;
  }

  /**
   * Keeps each verdict beside its action. Nothing is thrown away.
   * @param {Verdict[]} verdicts
   * @returns {Promise<void>}
   */
  async settle(verdicts) {
    const byId = new Map(verdicts.map((verdict) => [verdict.action_id, verdict]));
    for (const kept of this.#kept) {
      const verdict = byId.get(kept.action.action_id);
      if (verdict) kept.verdict = verdict;
    }
    this.#tell();
  }

  /**
   * The gallery holds less than it acknowledged: everything after `seq` waits again.
   * @param {number} seq
   * @returns {Promise<number>} how many wait again
   */
  async offerAgain(seq) {
    let again = 0;
    for (const kept of this.#kept) {
      if (kept.action.seq > seq && kept.verdict && kept.verdict.verdict !== "malformed") {
        kept.verdict = null;
        again += 1;
      }
    }
    await this.photos.again(seq);
    if (again) this.#tell();
    return again;
  }

  /** @returns {Promise<number>} highest seq up to which the gallery has acknowledged without a gap; 0 for none */
  async acknowledged() {
    let upTo = 0;
    for (const { action, verdict } of this.#kept) {
      if (!verdict) break;
      upTo = action.seq;
    }
    return upTo;
  }

  /** @returns {Promise<Set<string>>} ids of what the gallery has taken */
  async acknowledgedIds() {
    return new Set(this.#kept.filter(isTaken).map(({ action }) => action.action_id));
  }

  /** @returns {Promise<Counts>} */
  async counts() {
    const waiting = this.#kept.filter((kept) => !kept.verdict);
    const said = (/** @type {string[]} */ words) => this.#kept.filter((kept) => kept.verdict && words.includes(kept.verdict.verdict)).length;
    return {
      waiting: waiting.length,
      held: said(["held"]),
      unreadable: said(["differs", "malformed"]),
      oldest: waiting[0]?.action.done_at ?? null,
    };
  }

  /**
   * Everything entered here in one round, oldest first.
   * @param {string} roundId
   * @returns {Promise<Kept[]>}
   */
  async ofRound(roundId) {
    return this.#kept.filter((kept) => kept.action.round_id === roundId).map((kept) => ({ ...kept }));
  }

  /** @returns {Promise<Kept[]>} everything that is kept here, of every round, oldest first */
  async everything() {
    return this.#kept.map((kept) => ({ ...kept }));
  }

  /**
   * What was begun and not yet entered, as a count of presses.
   * @param {string} key
   * @returns {Promise<object | null>}
   */
  async draft(key) {
    return this.#drafts.get(key) ?? null;
  }

  /**
   * @param {string} key
   * @param {object | null} draft  null forgets it
   * @returns {Promise<void>}
   */
  async keepDraft(key, draft) {
    if (draft) this.#drafts.set(key, draft);
    else this.#drafts.delete(key);
  }

  /** @param {() => void} listener  called after every change */
  onChange(listener) {
    this.#listeners.add(listener);
  }

  #tell() {
    for (const listener of this.#listeners) listener();
  }
}

/**
 * A tablet whose database does not open: the round can be read, nothing is ticked. What waits in it is
 * not known here: nothing of it is settled, offered again or called sent.
 */
class ShutStore extends Store {
  /** @type {"page" | "tablet"} */
  holds = "tablet";

  /** @param {unknown} why */
  constructor(why) {
    super({ nextSeq: 1 });
    this.shut = why ?? new Error("closed");
  }

  /** @returns {Promise<Action[]>} */
  async append() {
    throw this.shut;
  }

  async settle() {
    throw this.shut;
  }

  /** @returns {Promise<number>} */
  async offerAgain() {
    throw this.shut;
  }
}

/**
 * @param {{deviceId: string, nextSeq: number, keeps: "page" | "tablet"}} from
 * @returns {Promise<Store | import("./tablet_store.js").TabletStore>}
 */
export async function openStore({ deviceId, nextSeq, keeps }) {
  if (!deviceId) throw new Error("No tablet is enrolled here.");
  if (keeps !== "tablet") return new Store({ nextSeq });
  try {
    return await openTabletStore({ deviceId, nextSeq });
  } catch (error) {
    return new ShutStore(error);
  }
}
