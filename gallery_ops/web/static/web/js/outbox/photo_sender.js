// When do photos travel? Always last: only while no entry waits, one at a time, piece by piece, going
// on where the gallery says that the last piece ended.

import { backOff, retryAfter } from "./sender.js";

/** @typedef {import("./sender.js").Store} Store */
/** @typedef {import("./sender.js").World} World */
/** @typedef {import("./photos.js").KeptPhoto} KeptPhoto */

/**
 * resting: none waits. last: entries go first. sending. away, sign_in: tries again by itself.
 * unnoted: the gallery has it, and this tablet has no room to note that. unread: this tablet does not give its bytes.
 * @typedef {"resting" | "last" | "sending" | "away" | "sign_in" | "unnoted" | "unread"} PhotoState
 */

export const PIECE_BYTES = 512 * 1024;
const LATER_MS = 30_000;
const MOST_TURNS = 200;
const MOST_UNREAD = 5;
const REFUSED = ["no_picture", "too_large"];

export class PhotoSender {
  /** @type {PhotoState} */
  state = "resting";
  /** Of the photo that travels: action_id and how much has arrived [0 to 1]. @type {{action_id: string, part: number} | null} */
  travels = null;

  #store;
  #address;
  #headers;
  #deviceId;
  #world;
  #failures = 0;
  /** How often in a row a photo's bytes were not given. */
  #unread = 0;
  #busy = false;
  /** @type {unknown} */
  #timer = null;
  /** @type {Set<() => void>} */
  #listeners = new Set();

  /** @param {{store: Store, address: string, headers: Record<string, string>, deviceId: string, world: World}} parts  address: to which the hash is added */
  constructor({ store, address, headers, deviceId, world }) {
    this.#store = store;
    this.#address = address;
    this.#headers = headers;
    this.#deviceId = deviceId;
    this.#world = world;
  }

  /** @param {() => void} listener */
  onChange(listener) {
    this.#listeners.add(listener);
  }

  /** Something was sent or entered: go on, unless it waits after a failure. */
  async nudge() {
    if (!this.#failures) await this.send();
  }

  /** The network is back, or somebody asked. */
  async tryNow() {
    this.#failures = 0;
    await this.send();
  }

  /** @returns {Promise<void>} */
  async send() {
    if (this.#busy) return;
    this.#busy = true;
    this.#world.never(this.#timer);
    const once = async (/** @type {unknown} */ lock) => (lock ? this.#drain() : this.#after(LATER_MS));
    try {
      const { locks } = this.#world;
      await (locks ? locks.request(`photos ${this.#deviceId}`, { ifAvailable: true }, once) : once(true));
    } catch {
      this.#wait("unread", null); // the list itself is not given: seen, and tried again
    } finally {
      this.#busy = false;
    }
  }

  async #drain() {
    for (;;) {
      const photo = await this.#store.photos.next();
      if (!photo) return this.#become("resting");
      const bytes = await this.#bytesOf(photo);
      if (bytes === undefined) return;
      const goOn = bytes ? await this.#sendOne(photo, bytes) : await this.#settle(photo, "refused", "Not sent: its bytes are not on this tablet any more. Take it again if it is needed.");
      if (!goOn) return;
    }
  }

  /**
   * A few times in a row a browser may fail to read; after that the photo stands aside for those behind it.
   * @param {KeptPhoto} photo
   * @returns {Promise<ArrayBuffer | null | undefined>} undefined: not now
   */
  async #bytesOf(photo) {
    try {
      const bytes = await this.#store.photos.bytes(photo);
      this.#unread = 0;
      return bytes;
    } catch {
      this.#unread += 1;
      if (this.#unread < MOST_UNREAD) return void this.#wait("unread", null);
      this.#unread = 0;
      return null;
    }
  }

  /**
   * @param {KeptPhoto} photo
   * @param {ArrayBuffer} bytes
   * @returns {Promise<boolean>} go on with the next
   */
  async #sendOne(photo, bytes) {
    const size = bytes.byteLength;
    /** @type {number | null} */
    let start = null;
    for (let turn = 0; turn < MOST_TURNS; turn += 1) {
      if ((await this.#store.waiting(1)).length) return this.#later("last");
      this.travels = { action_id: photo.action_id, part: (start ?? 0) / size };
      this.#become("sending");
      let response;
      let said;
      try {
        response = await this.#put(photo, bytes, start);
        said = await response.json();
      } catch {
        return this.#wait("away", null);
      }
      const pause = retryAfter(response.headers.get("Retry-After"), this.#world.now());
      if (response.status === 401 || response.status === 403) return this.#wait("sign_in", pause);
      if (REFUSED.includes(said?.code)) return this.#settle(photo, "refused", String(said.detail ?? ""));
      if (said?.code === "gap" || said?.code === "other_bytes") {
        start = null;
        if (turn > 3) return this.#wait("away", pause);
        continue;
      }
      if (!response.ok || !Number.isInteger(said?.received_bytes)) return this.#wait("away", pause);
      this.#failures = 0;
      if (said.is_whole) return this.#settle(photo, "sent");
      if (start !== null && said.received_bytes <= start) return this.#wait("away", pause); // it does not go forward
      start = said.received_bytes;
    }
    return this.#wait("away", null);
  }

  /**
   * @param {KeptPhoto} photo
   * @param {ArrayBuffer} bytes
   * @param {number | null} start  null asks how much is there
   */
  #put({ sha256 }, bytes, start) {
    const end = start === null ? 0 : Math.min(bytes.byteLength, start + PIECE_BYTES);
    const range = start === null ? "*" : `${start}-${end - 1}`;
    return this.#world.fetch(`${this.#address}${sha256}`, {
      method: "PUT",
      credentials: "same-origin",
      redirect: "error",
      headers: { "Content-Type": "application/octet-stream", Accept: "application/json", "Content-Range": `bytes ${range}/${bytes.byteLength}`, ...this.#headers },
      body: start === null ? undefined : bytes.slice(start, end),
    });
  }

  /**
   * @param {KeptPhoto} photo
   * @param {"sent" | "refused"} state
   * @param {string} [why]
   * @returns {Promise<boolean>} go on with the next
   */
  async #settle(photo, state, why = "") {
    try {
      await this.#store.photos.settle(photo, { state, why, at: this.#world.now() });
    } catch {
      return this.#wait("unnoted", null); // it still waits here; the gallery says once more that it has it
    }
    this.travels = null;
    this.#tell();
    return true;
  }

  /** @param {PhotoState} state @returns {false} */
  #later(state) {
    this.travels = null;
    this.#after(LATER_MS);
    this.#become(state);
    return false;
  }

  /**
   * @param {PhotoState} state
   * @param {number | null} pause  what the gallery asked for [ms]
   * @returns {false}
   */
  #wait(state, pause) {
    this.#failures += 1;
    this.travels = null;
    this.#after(Math.max(pause ?? 0, backOff(this.#failures, this.#world.random())));
    this.#become(state);
    return false;
  }

  /** @param {number} ms */
  #after(ms) {
    this.#world.never(this.#timer);
    this.#timer = this.#world.later(() => void this.send(), ms);
  }

  /** @param {PhotoState} state */
  #become(state) {
    this.state = state;
    this.#tell();
  }

  #tell() {
    for (const listener of this.#listeners) listener();
  }
}
