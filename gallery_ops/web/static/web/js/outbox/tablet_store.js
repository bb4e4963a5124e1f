// Where do entries wait until the gallery has them, also when the page, the browser or the power goes?
// In the tablet's own database: one transaction writes the entries of a tap and their numbers.

import { answer, openDatabase, transact, walkCursor } from "./database.js";
import { canonical } from "./envelope.js";
import { STORES, TabletPhotos, makePhotoStores } from "./photos.js";
import { isTaken } from "./verdicts.js";

/** @typedef {import("./envelope.js").Action} Action */
/** @typedef {import("./store.js").Verdict} Verdict */
/** @typedef {import("./store.js").Kept} Kept */
/** @typedef {import("./store.js").Counts} Counts */

/**
 * @typedef {object} Row
 * @property {number} seq
 * @property {string} action_id
 * @property {string} round_id
 * @property {Action} action
 * @property {Verdict | null} verdict
 * @property {1} [waits]  there while it waits, so that the index holds nothing else
 * @property {"held" | "unreadable"} [apart]  there while a person must look at it
 */

const VERSION = 3; // 2: photos; 3: what needs a person is found without reading all
const MOST_BYTES = 500_000;
const KEEP_MS = 14 * 24 * 3_600_000;

/**
 * Step by step from what an earlier version made; what it holds stays.
 * @param {IDBDatabase} db
 * @param {number} from  0 where there was none
 * @param {IDBTransaction} tx
 */
export function make(db, from, tx) {
  if (from < 1) makeEntries(db);
  if (from < 2) makePhotoStores(db);
  if (from < 3) markApart(tx.objectStore("entries"));
}

/** @param {IDBObjectStore} entries */
function markApart(entries) {
  entries.createIndex("apart", "apart");
  void walkCursor(entries.openCursor(), (cursor) => {
    const row = /** @type {Row} */ (cursor.value);
    if (setApart(row)) cursor.update(row);
  });
}

/**
 * @param {Row} row
 * @returns {boolean} a person must look at it
 */
function setApart(row) {
  const kind = row.verdict?.verdict;
  delete row.apart;
  if (kind === "held") row.apart = "held";
  else if (kind === "differs" || kind === "malformed") row.apart = "unreadable";
  return row.apart !== undefined;
}

/** @param {IDBDatabase} db */
function makeEntries(db) {
  const entries = db.createObjectStore("entries", { keyPath: "seq" });
  entries.createIndex("waits", "waits");
  entries.createIndex("action_id", "action_id", { unique: true });
  entries.createIndex("round_id", "round_id");
  db.createObjectStore("drafts");
  db.createObjectStore("meta");
}

export class TabletStore {
  /** @type {"page" | "tablet"} */
  holds = "tablet";
  /** It was opened. @type {unknown} */
  shut = null;
  /** @type {TabletPhotos} */
  photos;

  #db;
  #channel;
  #least;
  /** The number of the next entry, while no other page of this tablet has written since. @type {number | null} */
  #next = null;
  /** @type {Set<() => void>} */
  #listeners = new Set();

  /**
   * @param {IDBDatabase} db
   * @param {BroadcastChannel | null} channel  tells the other pages of this tablet
   * @param {number} [least]  the number that the next entry has at least, by what the gallery had
   */
  constructor(db, channel, least = 1) {
    this.#db = db;
    this.#channel = channel;
    this.#least = least;
    this.photos = new TabletPhotos(db, () => this.#tell());
    if (channel) {
      channel.onmessage = () => {
        this.#next = null;
        this.#tellHere();
      };
    }
  }

  /**
   * Writes all or none, in order. Resolves when they are on the disk; only then may a tick be shown.
   * @param {Omit<Action, "seq">[]} envelopes
   * @param {import("./photos.js").Picture[]} [pictures]  of the entries of kind photo: both are written or neither
   * @returns {Promise<Action[]>}
   */
  async append(envelopes, pictures = []) {
    try {
      return await this.#write(envelopes, pictures);
    } catch (error) {
      const isFull = /** @type {DOMException} */ (error).name === "QuotaExceededError";
      if (!isFull || !(await this.photos.makeRoom(null))) throw error;
      return this.#write(envelopes, pictures);
    }
  }

  /** @param {Omit<Action, "seq">[]} envelopes @param {import("./photos.js").Picture[]} pictures */
  async #write(envelopes, pictures) {
    const actions = (await this.#writeKnown(envelopes, pictures)) ?? (await this.#writeNext(envelopes, pictures));
    const last = actions.at(-1);
    if (last) this.#next = last.seq + 1;
    if (pictures.length) await this.photos.giveBack();
    setTimeout(() => this.#tell()); // after whoever waits for this tick has shown it
    return actions;
  }

  /**
   * Without asking for the number first. Where another page took it after all, its entry stands there, nothing is
   * written, and null is given.
   * @param {Omit<Action, "seq">[]} envelopes
   * @param {import("./photos.js").Picture[]} pictures
   */
  async #writeKnown(envelopes, pictures) {
    const next = this.#next;
    if (next === null || pictures.length) return null;
    this.#next = null;
    try {
      return await transact(this.#db, ["entries", "meta"], "readwrite", (tx) => this.#put(tx, envelopes, next));
    } catch (error) {
      if (/** @type {DOMException} */ (error).name === "ConstraintError") return null;
      throw error;
    }
  }

  /** @param {Omit<Action, "seq">[]} envelopes @param {import("./photos.js").Picture[]} pictures */
  async #writeNext(envelopes, pictures) {
    return transact(this.#db, ["entries", "meta", ...(pictures.length ? STORES : [])], "readwrite", async (tx) => {
      const given = Number((await answer(tx.objectStore("meta").get("next_seq"))) ?? 1);
      const actions = this.#put(tx, envelopes, Math.max(given, this.#least));
      this.photos.add(tx, actions, pictures);
      return actions;
    });
  }

  /** @param {IDBTransaction} tx @param {Omit<Action, "seq">[]} envelopes @param {number} next */
  #put(tx, envelopes, next) {
    const actions = envelopes.map((envelope, i) => /** @type {Action} */ ({ ...envelope, seq: next + i }));
    const entries = tx.objectStore("entries");
    for (const action of actions) {
      entries.add({ seq: action.seq, action_id: action.action_id, round_id: action.round_id, action, verdict: null, waits: 1 });
    }
    tx.objectStore("meta").put(next + actions.length, "next_seq");
    return actions;
  }

  /**
   * What waits, oldest seq first.
   * @param {number} most
   * @returns {Promise<Action[]>}
   */
  async waiting(most) {
    /** @type {Action[]} */
    const batch = [];
    let bytes = 0;
    await transact(this.#db, ["entries"], "readonly", (tx) =>
      walkCursor(tx.objectStore("entries").index("waits").openCursor(), (cursor) => {
        const action = /** @type {Row} */ (cursor.value).action;
        bytes += canonical(action).length;
        if (batch.length === most || (batch.length && bytes > MOST_BYTES)) return false;
        batch.push(action);
      }),
    );
    return batch;
  }

  /**
   * Keeps each verdict beside its action. Nothing is thrown away.
   * @param {Verdict[]} verdicts
   * @returns {Promise<void>}
   */
  async settle(verdicts) {
    await transact(this.#db, ["entries"], "readwrite", async (tx) => {
      const entries = tx.objectStore("entries");
      for (const verdict of verdicts) {
        if (!verdict.action_id) continue;
        const row = /** @type {Row | undefined} */ (await answer(entries.index("action_id").get(verdict.action_id)));
        if (!row) continue;
        row.verdict = verdict;
        delete row.waits;
        setApart(row);
        entries.put(row);
      }
    });
    this.#tell();
  }

  /**
   * The gallery holds less than it acknowledged: everything after `seq` waits again.
   * @param {number} seq
   * @returns {Promise<number>} how many wait again
   */
  async offerAgain(seq) {
    let again = 0;
    await transact(this.#db, ["entries"], "readwrite", (tx) =>
      walkCursor(tx.objectStore("entries").openCursor(IDBKeyRange.lowerBound(seq, true)), (cursor) => {
        const row = /** @type {Row} */ (cursor.value);
        if (!row.verdict || row.verdict.verdict === "malformed") return;
        row.verdict = null;
        row.waits = 1;
        setApart(row);
        cursor.update(row);
        again += 1;
      }),
    );
    await this.photos.again(seq);
    if (again) this.#tell();
    return again;
  }

  /** @returns {Promise<number>} highest seq up to which the gallery has acknowledged without a gap; 0 for none */
  async acknowledged() {
    return transact(this.#db, ["entries"], "readonly", async (tx) => {
      const entries = tx.objectStore("entries");
      const first = await answer(entries.index("waits").openKeyCursor());
      const range = first ? IDBKeyRange.upperBound(first.primaryKey, true) : null;
      const last = await answer(entries.openKeyCursor(range, "prev"));
      return last ? Number(last.key) : 0;
    });
  }

  /** @returns {Promise<Set<string>>} ids of what the gallery has taken */
  async acknowledgedIds() {
    /** @type {Set<string>} */
    const ids = new Set();
    await transact(this.#db, ["entries"], "readonly", (tx) =>
      walkCursor(tx.objectStore("entries").openCursor(), (cursor) => {
        const row = /** @type {Row} */ (cursor.value);
        if (isTaken(row)) ids.add(row.action_id);
      }),
    );
    return ids;
  }

  /** @returns {Promise<Counts>} however much is kept here, a few questions to the database */
  async counts() {
    return transact(this.#db, ["entries"], "readonly", async (tx) => {
      const entries = tx.objectStore("entries");
      const [waits, apart] = [entries.index("waits"), entries.index("apart")];
      const [waiting, held, unreadable, first] = await Promise.all([answer(waits.count()), answer(apart.count("held")), answer(apart.count("unreadable")), answer(waits.openCursor())]);
      return { waiting, held, unreadable, oldest: first ? /** @type {Row} */ (first.value).action.done_at : null };
    });
  }

  /**
   * Everything entered here in one round, oldest first.
   * @param {string} roundId
   * @returns {Promise<Kept[]>}
   */
  async ofRound(roundId) {
    const rows = await transact(this.#db, ["entries"], "readonly", (tx) => answer(tx.objectStore("entries").index("round_id").getAll(roundId)));
    return rows.map((/** @type {Row} */ { action, verdict }) => ({ action, verdict }));
  }

  /** @returns {Promise<Kept[]>} everything that is kept here, of every round, oldest first */
  async everything() {
    const rows = await transact(this.#db, ["entries"], "readonly", (tx) => answer(tx.objectStore("entries").getAll()));
    return rows.map((/** @type {Row} */ { action, verdict }) => ({ action, verdict }));
  }

  /**
   * What was begun and not yet entered, as a count of presses.
   * @param {string} key
   * @returns {Promise<object | null>}
   */
  async draft(key) {
    return (await transact(this.#db, ["drafts"], "readonly", (tx) => answer(tx.objectStore("drafts").get(key)))) ?? null;
  }

  /**
   * @param {string} key
   * @param {object | null} draft  null forgets it
   * @returns {Promise<void>}
   */
  async keepDraft(key, draft) {
    await transact(this.#db, ["drafts"], "readwrite", (tx) => {
      const drafts = tx.objectStore("drafts");
      if (draft) drafts.put(structuredClone(draft), key);
      else drafts.delete(key);
    });
  }

  /** @param {() => void} listener  called after every change, also of another page */
  onChange(listener) {
    this.#listeners.add(listener);
  }

  #tell() {
    this.#channel?.postMessage("changed");
    this.#tellHere();
  }

  #tellHere() {
    for (const listener of this.#listeners) listener();
  }
}

/**
 * Opens the tablet's outbox. Numbers go on from the higher of what it gave and what the gallery had;
 * what the gallery acknowledged more than 14 days ago is let go. A full tablet may refuse that: it opens all the same,
 * since what waits there must be seen and sent.
 * @param {{deviceId: string, nextSeq: number, now?: Date}} from
 * @returns {Promise<TabletStore>}
 */
export async function openTabletStore({ deviceId, nextSeq, now = new Date() }) {
  const db = await openDatabase(nameOf(deviceId), VERSION, make);
  await letGo(db, now).catch(() => null);
  await new TabletPhotos(db, () => {}).makeRoom(now).catch(() => null);
  return new TabletStore(db, channelOf(deviceId), nextSeq);
}

/**
 * The outbox as it is: none is made where nothing was entered yet, and nothing is let go.
 * @param {string} deviceId
 * @returns {Promise<TabletStore | null>} null: there is none
 */
export async function openIfThere(deviceId) {
  let isThere = true;
  try {
    const db = await openDatabase(nameOf(deviceId), VERSION, (made, from, tx) => {
      isThere = from > 0;
      if (isThere) make(made, from, tx);
      else tx.abort(); // then it was never made
    });
    return new TabletStore(db, channelOf(deviceId));
  } catch (error) {
    if (!isThere) return null;
    throw error;
  }
}

/** @param {string} deviceId */
function nameOf(deviceId) {
  return `outbox ${deviceId}`;
}

/** @param {string} deviceId */
function channelOf(deviceId) {
  return globalThis.BroadcastChannel ? new BroadcastChannel(nameOf(deviceId)) : null;
}

/** @param {IDBDatabase} db @param {Date} now */
async function letGo(db, now) {
  await transact(db, ["entries"], "readwrite", (tx) =>
    walkCursor(tx.objectStore("entries").openCursor(), (cursor) => {
      const row = /** @type {Row} */ (cursor.value);
      if (isTaken(row) && Date.parse(row.action.done_at) < now.getTime() - KEEP_MS) cursor.delete();
    }),
  );
}
