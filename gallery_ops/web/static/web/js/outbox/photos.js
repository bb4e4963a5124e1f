// Where do photos wait? Beside their entries: what is known of each apart from its bytes, so that a
// list of them is light. A photo is let go only after the gallery said that it has all of it.

import { answer, transact, walkCursor } from "./database.js";

/** @typedef {import("./envelope.js").Action} Action */

/**
 * The bytes that go with an entry of kind photo, known by their hash.
 * @typedef {{sha256: string, bytes: ArrayBuffer}} Picture
 */

/**
 * @typedef {object} KeptPhoto
 * @property {string} action_id  of the entry that tells of it
 * @property {number} seq  of that entry
 * @property {string | null} stop_id
 * @property {string} sha256
 * @property {number} size_bytes
 * @property {string} taken_at
 * @property {"waits" | "sent" | "refused"} state
 * @property {string} why  in the gallery's words, where it was refused
 * @property {string | null} sent_at
 * @property {1} [waits]  there while it waits, so that the index holds nothing else
 */

export const STORES = ["photos", "photo_bytes"];
/** What must still have room beside a photo, for entries [bytes]: thousands of them. */
export const SPARE_BYTES = 4 * 1024 * 1024;
const SPARE = "spare";
const KEEP_MS = 14 * 24 * 3_600_000;

/** @param {IDBDatabase} db  of a tablet that had no photos yet */
export function makePhotoStores(db) {
  db.createObjectStore("photos", { keyPath: "seq" }).createIndex("waits", "waits");
  db.createObjectStore("photo_bytes");
}

/**
 * Each entry of kind photo with its bytes. Throws where one of the two is missing: neither is kept alone.
 * @param {Action[]} actions
 * @param {Picture[]} pictures
 * @returns {{photo: KeptPhoto, bytes: ArrayBuffer}[]}
 */
export function paired(actions, pictures) {
  const told = actions.filter((action) => action.kind === "photo");
  const byHash = new Map(pictures.map((picture) => [picture.sha256, picture.bytes]));
  const pairs = told.map((action) => {
    const sha256 = String(action.body.sha256);
    const bytes = byHash.get(sha256);
    if (!bytes || bytes.byteLength !== action.body.size_bytes) throw new Error("A photo and its entry are kept together or not at all.");
    return { photo: /** @type {KeptPhoto} */ ({ action_id: action.action_id, seq: action.seq, stop_id: action.stop_id, sha256, size_bytes: bytes.byteLength, taken_at: action.done_at, state: "waits", why: "", sent_at: null, waits: 1 }), bytes };
  });
  if (pairs.length !== pictures.length) throw new Error("A photo and its entry are kept together or not at all.");
  return pairs;
}

const MOST_RANDOM = 65_536; // a call

/**
 * @param {number} size  [bytes]
 * @returns {Uint8Array} which no browser makes smaller as it writes it
 */
function noise(size) {
  const all = new Uint8Array(size);
  for (let at = 0; at < size; at += MOST_RANDOM) crypto.getRandomValues(all.subarray(at, at + MOST_RANDOM));
  return all;
}

/**
 * @param {KeptPhoto} photo
 * @param {{state: KeptPhoto["state"], why?: string, at: Date}} what
 * @returns {KeptPhoto}
 */
function settled(photo, { state, why = "", at }) {
  const { waits: _, ...rest } = photo;
  return { ...rest, state, why, sent_at: state === "sent" ? at.toISOString() : null };
}

/** @param {KeptPhoto} photo @param {Date | null} now  null: room is needed @returns {boolean} */
function mayGo(photo, now) {
  return photo.state === "sent" && (now === null || Date.parse(photo.sent_at ?? "") < now.getTime() - KEEP_MS);
}

/** Photos in the tablet's database. */
export class TabletPhotos {
  #db;
  #tell;

  /**
   * @param {IDBDatabase} db
   * @param {() => void} tell  something changed
   */
  constructor(db, tell) {
    this.#db = db;
    this.#tell = tell;
  }

  /**
   * Within the transaction of their entries, and with the room that entries need: where that is not there, a
   * photo is refused and a tick still has it. Not every browser says how full it is, so it is tried.
   * @param {IDBTransaction} tx
   * @param {Action[]} actions
   * @param {Picture[]} pictures
   */
  add(tx, actions, pictures) {
    for (const { photo, bytes } of paired(actions, pictures)) {
      tx.objectStore("photos").add(photo);
      tx.objectStore("photo_bytes").add(bytes, photo.seq);
    }
    if (pictures.length) tx.objectStore("photo_bytes").put(noise(SPARE_BYTES), SPARE);
  }

  /** After that transaction: the room is for entries. What is left by a page that died goes when room is made. */
  async giveBack() {
    await transact(this.#db, ["photo_bytes"], "readwrite", (tx) => void tx.objectStore("photo_bytes").delete(SPARE)).catch(() => null);
  }

  /** @returns {Promise<KeptPhoto[]>} oldest first, without their bytes */
  async all() {
    return transact(this.#db, ["photos"], "readonly", (tx) => answer(tx.objectStore("photos").getAll()));
  }

  /** @returns {Promise<KeptPhoto | null>} the oldest that waits */
  async next() {
    return (await transact(this.#db, ["photos"], "readonly", (tx) => answer(tx.objectStore("photos").index("waits").get(1)))) ?? null;
  }

  /** @param {KeptPhoto} photo @returns {Promise<ArrayBuffer | null>} */
  async bytes({ seq }) {
    return (await transact(this.#db, ["photo_bytes"], "readonly", (tx) => answer(tx.objectStore("photo_bytes").get(seq)))) ?? null;
  }

  /**
   * @param {KeptPhoto} photo
   * @param {{state: KeptPhoto["state"], why?: string, at: Date}} what
   */
  async settle(photo, what) {
    await transact(this.#db, ["photos"], "readwrite", (tx) => void tx.objectStore("photos").put(settled(photo, what)));
    this.#tell();
  }

  /** The gallery may have lost what it had: everything after `seq` that is still here waits again. @param {number} seq */
  async again(seq) {
    await transact(this.#db, ["photos"], "readwrite", (tx) =>
      walkCursor(tx.objectStore("photos").openCursor(IDBKeyRange.lowerBound(seq, true)), (cursor) => {
        const photo = /** @type {KeptPhoto} */ (cursor.value);
        if (photo.state === "sent") cursor.update({ ...photo, state: "waits", sent_at: null, waits: 1 });
      }),
    );
  }

  /**
   * Lets go what the gallery has.
   * @param {Date | null} now  what was sent 14 days before; null: all of it, room is needed
   * @returns {Promise<number>} how many
   */
  async makeRoom(now) {
    let gone = 0;
    await transact(this.#db, STORES, "readwrite", (tx) => {
      tx.objectStore("photo_bytes").delete(SPARE);
      return walkCursor(tx.objectStore("photos").openCursor(), (cursor) => {
        const photo = /** @type {KeptPhoto} */ (cursor.value);
        if (!mayGo(photo, now)) return;
        tx.objectStore("photo_bytes").delete(photo.seq);
        cursor.delete();
        gone += 1;
      });
    });
    if (gone) this.#tell();
    return gone;
  }
}

/** Photos in the memory of a page, at a desk. */
export class PagePhotos {
  /** @type {Map<number, {photo: KeptPhoto, bytes: ArrayBuffer}>} */
  #kept = new Map();
  #tell;

  /** @param {() => void} tell */
  constructor(tell) {
    this.#tell = tell;
  }

  /** @param {Action[]} actions @param {Picture[]} pictures */
  add(actions, pictures) {
    for (const pair of paired(actions, pictures)) this.#kept.set(pair.photo.seq, pair);
  }

  /** @returns {Promise<KeptPhoto[]>} */
  async all() {
    return [...this.#kept.values()].map(({ photo }) => photo);
  }

  /** @returns {Promise<KeptPhoto | null>} */
  async next() {
    return (await this.all()).find((photo) => photo.waits) ?? null;
  }

  /** @param {KeptPhoto} photo @returns {Promise<ArrayBuffer | null>} */
  async bytes({ seq }) {
    return this.#kept.get(seq)?.bytes ?? null;
  }

  /** @param {KeptPhoto} photo @param {{state: KeptPhoto["state"], why?: string, at: Date}} what */
  async settle(photo, what) {
    const kept = this.#kept.get(photo.seq);
    if (kept) kept.photo = settled(kept.photo, what);
    this.#tell();
  }

  /** @param {number} seq */
  async again(seq) {
    for (const kept of this.#kept.values()) if (kept.photo.seq > seq && kept.photo.state === "sent") kept.photo = { ...kept.photo, state: "waits", sent_at: null, waits: 1 };
  }

  /** @param {Date | null} now @returns {Promise<number>} */
  async makeRoom(now) {
    const gone = [...this.#kept.values()].filter(({ photo }) => mayGo(photo, now));
    for (const { photo } of gone) this.#kept.delete(photo.seq);
    if (gone.length) this.#tell();
    return gone.length;
  }
}
