// When is what waits sent, and what follows from the answer?
// Oldest first, one request at a time, and nothing is forgotten before a verdict has come.

import { wallClock } from "./envelope.js";

/** @typedef {import("./store.js").Store | import("./tablet_store.js").TabletStore} Store */

/**
 * @typedef {object} World  what the sender needs from outside; tests hand in their own
 * @property {typeof fetch} fetch
 * @property {() => Date} now
 * @property {() => number} monotonic  milliseconds
 * @property {() => number} random  0 to 1
 * @property {(f: () => void, ms: number) => unknown} later
 * @property {(timer: unknown) => void} never
 * @property {{request: Function} | null} locks  navigator.locks, where there are any
 */

/**
 * resting: nothing waits. soon: waits for its moment. sending. away: no answer, tries again.
 * sign_in: the gallery asks who is here. stopped: the gallery cannot read the request.
 * unnoted: the gallery answered, and this tablet has no room to note what.
 * @typedef {"resting" | "soon" | "sending" | "away" | "sign_in" | "stopped" | "unnoted"} State
 */

const SOON_MS = 2_000;
const STILL_WAITING_MS = 30_000;
const FIRST_WAIT_MS = 2_000;
const LONGEST_WAIT_MS = 300_000;
const MOST_ACTIONS = 100;

/**
 * How long to wait after the n-th failure in a row [ms]: doubles from 2 s to 5 min, less up to a half by chance.
 * @param {number} failures  from 1
 * @param {number} chance  0 to 1
 * @returns {number}
 */
export function backOff(failures, chance) {
  const full = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** (failures - 1));
  return Math.round(full * (1 - chance / 2));
}

/**
 * Retry-After in seconds or as a date [ms]; null when it says nothing usable.
 * @param {string | null} text
 * @param {Date} now
 * @returns {number | null}
 */
export function retryAfter(text, now) {
  if (!text) return null;
  if (/^\d+$/.test(text.trim())) return Number(text) * 1000;
  const at = Date.parse(text);
  return Number.isNaN(at) ? null : Math.max(0, at - now.getTime());
}

export class Sender {
  /** @type {State} */
  state = "resting";
  /** Device's clock behind the gallery's [ms], as last measured, also by an earlier page; null where it never was. @type {number | null} */
  offsetMs = null;
  /** @type {Date | null} */
  lastAnswer = null;
  /** How many wait again because the gallery had lost them. */
  offeredAgain = 0;
  /** The gallery has lost some, and this tablet could not note what to offer again: asked anew each time. */
  isOwing = false;
  /** When it tries by itself. @type {Date | null} */
  nextAt = null;

  #store;
  #address;
  #headers;
  #deviceId;
  #bootId;
  #epoch;
  #world;
  #failures = 0;
  #most = MOST_ACTIONS;
  /** @type {unknown} */
  #timer = null;
  #busy = false;
  #offeredFrom = -1;
  #keepEpoch;
  #keepOffset;
  /** When was decided what this page has heard, by action. @type {Map<string, string>} */
  #heard = new Map();
  /** @type {Set<() => void>} */
  #listeners = new Set();

  /**
   * @param {{store: Store, address: string, headers: Record<string, string>, deviceId: string, bootId: string, epoch: string, keepEpoch?: (epoch: string) => Promise<void>, offsetMs?: number | null, keepOffset?: (ms: number) => Promise<void>, world: World}} parts
   *   epoch: of the database that this tablet spoke to last, also before this page was opened
   */
  constructor({ store, address, headers, deviceId, bootId, epoch, keepEpoch = async () => {}, offsetMs = null, keepOffset = async () => {}, world }) {
    this.#keepEpoch = keepEpoch;
    this.#keepOffset = keepOffset;
    this.offsetMs = offsetMs;
    this.#store = store;
    this.#address = address;
    this.#headers = headers;
    this.#deviceId = deviceId;
    this.#bootId = bootId;
    this.#epoch = epoch;
    this.#world = world;
  }

  /** The gallery's database by the name it gave itself last. */
  get epoch() {
    return this.#epoch;
  }

  /** @param {() => void} listener */
  onChange(listener) {
    this.#listeners.add(listener);
  }

  /** Something was entered: send soon, together with what follows at once; fast hands do not put it off. */
  nudge() {
    if (this.#busy || this.#failures || this.state === "soon") return;
    this.#become("soon");
    this.#after(SOON_MS);
  }

  /** The network is back, the page is seen again, or somebody asked: try at once. */
  async tryNow() {
    this.#failures = 0;
    await this.send();
  }

  /**
   * Sends one batch after the other until nothing waits or one fails.
   * @returns {Promise<void>}
   */
  async send() {
    if (this.#busy) return;
    this.#busy = true;
    this.nextAt = null;
    this.#world.never(this.#timer);
    try {
      const { locks } = this.#world;
      if (locks) {
        await locks.request(`outbox ${this.#deviceId}`, { ifAvailable: true }, async (/** @type {unknown} */ lock) => {
          if (lock) await this.#drain();
          else this.#after(STILL_WAITING_MS);
        });
      } else {
        await this.#drain();
      }
    } finally {
      this.#busy = false;
    }
  }

  /**
   * The gallery as it is now, from its pack or its page: another database, or one that has lost what it
   * had acknowledged, is offered everything again.
   * @param {string} epoch
   * @param {number} had  highest seq that it has of this tablet
   */
  async meet(epoch, had) {
    const before = await this.#store.acknowledged();
    try {
      if (epoch !== this.#epoch) await this.#isAnother(epoch);
      else if (had < before) await this.#again(had);
    } catch {
      this.#tell(); // the round opens all the same: what is here must be seen and sent
    }
    if (this.offeredAgain) this.#tell();
  }

  /**
   * Nothing waits: say so, and ask what became of what is held. What fails is asked again another time.
   * @returns {Promise<void>}
   */
  async ask() {
    if (this.#busy || (await this.#store.waiting(1)).length) return;
    const { locks } = this.#world;
    const once = async (/** @type {unknown} */ lock) => {
      if (!lock || this.#busy) return;
      this.#busy = true;
      try {
        const left = this.#world.monotonic();
        const sent = this.#world.now();
        const response = await this.#post([], {});
        if (response.ok) await this.#hear(await response.json(), sent, this.#world.monotonic() - left);
      } catch {
        // away: it is asked again
      } finally {
        this.#busy = false;
      }
    };
    await (locks ? locks.request(`outbox ${this.#deviceId}`, { ifAvailable: true }, once) : once(true));
    if ((await this.#store.waiting(1)).length) await this.send(); // offered again, or entered meanwhile
  }

  /** The page goes away: hand what waits to the browser, which may still deliver it. */
  async lastWord() {
    const actions = await this.#store.waiting(this.#most);
    if (actions.length) {
      await this.#post(actions, { keepalive: true }).catch(() => null);
    }
  }

  async #drain() {
    for (;;) {
      const actions = await this.#store.waiting(this.#most);
      if (!actions.length) {
        this.#failures = 0;
        this.#become("resting");
        return;
      }
      this.#become("sending");
      if (!(await this.#offer(actions))) return;
    }
  }

  /**
   * @param {import("./envelope.js").Action[]} actions
   * @returns {Promise<boolean>} go on at once
   */
  async #offer(actions) {
    const left = this.#world.monotonic();
    const sent = this.#world.now();
    let response;
    try {
      response = await this.#post(actions, {});
    } catch {
      return this.#wait("away", null);
    }
    const pause = retryAfter(response.headers.get("Retry-After"), this.#world.now());
    if (response.status === 401 || response.status === 403) return this.#wait("sign_in", pause);
    if (response.status === 413 && actions.length > 1) {
      this.#most = Math.ceil(actions.length / 2);
      return true;
    }
    if (response.status >= 400 && response.status < 500 && response.status !== 429 && response.status !== 408) {
      return this.#wait("stopped", pause);
    }
    if (!response.ok) return this.#wait("away", pause);
    let answer;
    try {
      answer = await response.json();
    } catch {
      return this.#wait("away", pause);
    }
    try {
      return await this.#take(answer, actions, sent, this.#world.monotonic() - left);
    } catch {
      return this.#wait("unnoted", pause); // a full tablet: the gallery has them, and says so once more when asked again
    }
  }

  /**
   * @param {any} answer
   * @param {import("./envelope.js").Action[]} actions
   * @param {Date} sent
   * @param {number} tripMs
   * @returns {Promise<boolean>}
   */
  async #take(answer, actions, sent, tripMs) {
    if (!answer || !Array.isArray(answer.verdicts)) return this.#wait("away", null);
    await this.#hear(answer, sent, tripMs);
    const answered = new Set(answer.verdicts.map((/** @type {any} */ v) => v.action_id));
    if (!actions.some((action) => answered.has(action.action_id))) return this.#wait("away", null);
    this.#failures = 0;
    this.#most = MOST_ACTIONS;
    this.#tell();
    return true;
  }

  /**
   * What an answer says of each entry, of decisions, of the clock and of the database behind it.
   * @param {any} answer
   * @param {Date} sent
   * @param {number} tripMs
   */
  async #hear(answer, sent, tripMs) {
    const before = await this.#store.acknowledged();
    if (answer.verdicts.length) await this.#store.settle(answer.verdicts);
    await this.#decided(answer.decided ?? []);
    const server = Date.parse(answer.server_time);
    if (!Number.isNaN(server)) {
      this.offsetMs = server - sent.getTime() - tripMs / 2;
      await this.#keepOffset(this.offsetMs);
    }
    this.lastAnswer = this.#world.now();
    if (answer.epoch && answer.epoch !== this.#epoch) {
      await this.#isAnother(answer.epoch);
    } else if (Number.isInteger(answer.received_up_to) && answer.received_up_to < before && answer.received_up_to !== this.#offeredFrom) {
      this.#offeredFrom = answer.received_up_to; // once: an entry that cannot be read leaves a gap for good
      await this.#again(answer.received_up_to);
    }
    this.#tell();
  }

  /** Throws where the tablet has no room to note it. @param {number} seq  after which everything waits again */
  async #again(seq) {
    this.isOwing = true;
    try {
      this.offeredAgain += await this.#store.offerAgain(seq);
    } catch (error) {
      this.#offeredFrom = -1;
      throw error;
    }
    this.isOwing = false;
  }

  /** @param {string} epoch  of another database: a backup was put back */
  async #isAnother(epoch) {
    this.#heard.clear();
    await this.#again(0);
    await this.#keepEpoch(epoch); // only now: a page that dies before this offers once more
    this.#epoch = epoch;
  }

  /** @param {{action_id: string, verdict: import("./store.js").Verdict["verdict"], words: string, at: string}[]} decided */
  async #decided(decided) {
    const news = decided.filter(({ action_id, at }) => this.#heard.get(action_id) !== at);
    if (news.length) await this.#store.settle(news.map(({ action_id, verdict, words, at }) => ({ action_id, verdict, words, decided_at: at })));
    for (const { action_id, at } of news) this.#heard.set(action_id, at); // only now: what could not be noted is heard once more
  }

  /**
   * @param {import("./envelope.js").Action[]} actions
   * @param {RequestInit} how
   */
  #post(actions, how) {
    return this.#world.fetch(this.#address, {
      method: "POST",
      credentials: "same-origin",
      redirect: "error",
      headers: { "Content-Type": "application/json", Accept: "application/json", ...this.#headers },
      body: JSON.stringify({
        device_id: this.#deviceId,
        epoch: this.#epoch,
        sent_at: wallClock(this.#world.now()),
        boot_id: this.#bootId,
        monotonic_ms: Math.floor(this.#world.monotonic()),
        actions,
      }),
      ...how,
    });
  }

  /**
   * @param {State} state
   * @param {number | null} pause  what the gallery asked for [ms]
   * @returns {false}
   */
  #wait(state, pause) {
    this.#failures += 1;
    this.#after(Math.max(pause ?? 0, backOff(this.#failures, this.#world.random())));
    this.#become(state);
    return false;
  }

  /** @param {number} ms */
  #after(ms) {
    this.#world.never(this.#timer);
    this.nextAt = new Date(this.#world.now().getTime() + ms);
    this.#timer = this.#world.later(() => void this.send(), ms);
  }

  /** @param {State} state */
  #become(state) {
    this.state = state;
    this.#tell();
  }

  #tell() {
    for (const listener of this.#listeners) listener();
  }
}
