// Who holds this tablet? Names and six digits, with the network and without it; ten minutes without a touch lock it.
// The outbox knows nothing of this: nothing that waits is ever touched by a change of hands.

import { isRight } from "./lock_pin.js";
import { afterTime, afterWrong, isIdle, NONE, restLeft, restWords, triesLeft } from "./lock_rules.js";

/** @typedef {import("./pack.js").Person} Person */
/** @typedef {"pin" | "session"} Proof  session: the gallery itself has checked it */
/** @typedef {{person: string, proof: Proof, sessions: string[], touched: import("./lock_rules.js").Moment, locked?: boolean}} Who  locked: also after a reload */
/** @typedef {{person_id: string, at: string, right: boolean, salt: string}} Told */
/** @typedef {{said: "right"} | {said: "wrong", words: string} | {said: "nothing"}} Answer  of the gallery */

/**
 * @typedef {object} World
 * @property {() => Date} now
 * @property {() => number} monotonic
 * @property {typeof fetch} fetch
 * @property {SubtleCrypto | null} subtle  null on an address that begins with http
 * @property {(ms: number) => Promise<unknown>} wait
 */

const AFTER_RIGHT_MS = 800;
const AFTER_WRONG_MS = 3_000;
const MOST_TOLD = 200;
const TOUCH_STEP_MS = 15_000;

export class Lock {
  isLocked = false;
  /** @type {string} */
  person;
  /** @type {Proof} */
  proof = "session";
  /** Called when who holds it has changed, or it was locked. @type {() => void} */
  onChange = () => {};

  #people;
  #salt;
  #store;
  #world;
  #addresses;
  #page;
  /** Sign-ins of the gallery that led here. @type {string[]} */
  #sessions;
  /** @type {import("./lock_rules.js").Moment} */
  #touched;
  /** @type {Record<string, import("./lock_rules.js").Tries>} */
  #tries = {};
  #countedAt;
  #keptTouch = 0;

  /**
   * @param {{people: Person[], you: string, salt: string, store: import("./lock_store.js").LockStore, world: World, page: string, session: string, addresses: {unlock: string, tries: string}}} parts
   *   session: names the sign-in of the gallery that the page was given to
   */
  constructor({ people, you, salt, store, world, page, session, addresses }) {
    this.#people = people.filter((one) => one.pin);
    this.#salt = salt;
    this.#store = store;
    this.#world = world;
    this.#page = page;
    this.#sessions = [`${session} ${you}`];
    this.#addresses = addresses;
    this.person = you;
    this.#touched = this.#moment();
    this.#countedAt = world.monotonic();
  }

  /** Who may sign in here; without a PIN nobody could, and nothing is locked. */
  get people() {
    return this.#people;
  }

  /**
   * Whoever the gallery has just let in, or who held the tablet last if that is not too long ago.
   * @param {boolean} isKept  the pack is one of before: the gallery was not asked
   */
  async begin(isKept) {
    this.#tries = (await this.#store.get("tries")) ?? {};
    const who = /** @type {Who | undefined} */ (await this.#store.get("who"));
    if (who?.sessions.includes(this.#sessions[0])) {
      this.#sessions = who.sessions;
      this.person = who.person;
      this.proof = who.proof;
      this.#touched = who.touched;
      this.isLocked = this.#people.length > 0 && (who.locked === true || isIdle(who.touched, this.#moment()));
      if (this.isLocked) await this.#keep(true); // a wall clock set right afterwards opens nothing
    } else if (isKept) {
      this.isLocked = this.#people.length > 0;
      this.proof = "pin";
    }
    if (!this.isLocked) await this.#hold();
  }

  /** Somebody touched the glass. */
  touch() {
    if (this.isLocked || this.check()) return;
    this.#touched = this.#moment();
    if (this.#touched.counted - this.#keptTouch > TOUCH_STEP_MS) void this.#hold();
  }

  /** @returns {boolean} locked, now or before */
  check() {
    if (!this.isLocked && this.#people.length && isIdle(this.#touched, this.#moment())) this.lock();
    return this.isLocked;
  }

  lock() {
    if (!this.#people.length || this.isLocked) return;
    this.isLocked = true;
    void this.#keep(true).catch(() => {}); // it is locked in any case
    this.onChange();
  }

  /** Counts what rests; called every few seconds while a page is open. */
  async count() {
    const passed = this.#world.monotonic() - this.#countedAt;
    this.#countedAt += passed;
    const wall = this.#world.now().getTime();
    const resting = Object.keys(this.#tries).filter((id) => restLeft(this.#tries[id], wall) > 0);
    if (!resting.length) return;
    for (const id of resting) this.#tries[id] = afterTime(this.#tries[id], passed, wall);
    await this.#store.put("tries", this.#tries);
  }

  /** @param {string} id @returns {string} why this name cannot sign in now; empty when it can */
  rests(id) {
    const left = restLeft(this.#tries[id] ?? NONE, this.#world.now().getTime());
    return left ? restWords(left) : "";
  }

  /**
   * The sixth digit was tapped.
   * @param {string} id
   * @param {string} digits
   * @returns {Promise<string>} empty when it is right, else what to say
   */
  async open(id, digits) {
    await this.count();
    const person = this.#people.find((one) => one.id === id);
    if (!person) return "This name cannot sign in on this tablet.";
    const rests = this.rests(id);
    if (rests) return rests;
    const gallery = this.#ask(id, digits);
    const here = await this.#isRightHere(person, digits);
    const patience = here ? AFTER_RIGHT_MS : AFTER_WRONG_MS;
    const first = await Promise.race([gallery, this.#world.wait(patience).then(() => null)]);
    if (first?.said === "wrong") return this.#wrong(id, first.words);
    if (first?.said === "right") return this.#right(person, "session");
    if (here === null) return "This tablet cannot check a PIN without the network. Bring it nearer, or sign in there.";
    await this.#note(person, here);
    if (!here) return this.#wrong(id, "");
    if (!first) void gallery.then((late) => this.#late(person, late));
    return this.#right(person, "pin");
  }

  /** The network is back: tell what was tried without it. */
  async tell() {
    const told = /** @type {Told[]} */ ((await this.#store.get("told")) ?? []);
    if (!told.length) return;
    const answer = await this.#post(this.#addresses.tries, { tries: told }).catch(() => null);
    if (!answer?.ok && answer?.status !== 400) return;
    const now = /** @type {Told[]} */ ((await this.#store.get("told")) ?? []);
    await this.#store.put("told", now.slice(told.length));
  }

  /** @param {Person} person @param {Answer | null} late  the gallery answered when the screen was open already */
  #late(person, late) {
    if (this.person !== person.id || this.isLocked || !late || late.said === "nothing") return;
    if (late.said === "wrong") return this.lock(); // the PIN was changed since this tablet heard of it
    this.proof = "session";
    this.onChange();
    void this.#hold();
  }

  /** @param {Person} person @param {Proof} proof */
  async #right(person, proof) {
    this.#tries[person.id] = NONE;
    await this.#store.put("tries", this.#tries);
    await this.#hold(person.id, proof);
    this.person = person.id; // in one step with onChange: no entry falls between two people
    this.proof = proof;
    this.isLocked = false;
    this.onChange();
    return "";
  }

  /** @param {string} id @param {string} words  of the gallery; empty without it */
  async #wrong(id, words) {
    const wall = this.#world.now().getTime();
    this.#tries[id] = afterWrong(this.#tries[id] ?? NONE, wall);
    await this.#store.put("tries", this.#tries);
    const left = triesLeft(this.#tries[id]);
    return this.rests(id) || words || `Not these digits. ${left} ${left === 1 ? "try" : "tries"} left.`;
  }

  /** @param {Person} person @param {string} digits @returns {Promise<boolean | null>} null: cannot be checked here */
  async #isRightHere(person, digits) {
    const { subtle } = this.#world;
    return subtle && person.pin && this.#salt ? isRight(digits, person.pin, this.#salt, subtle) : null;
  }

  /** @param {string} id @param {string} pin @returns {Promise<Answer>} */
  async #ask(id, pin) {
    try {
      const answer = await this.#post(this.#addresses.unlock, { person_id: id, pin });
      const said = await answer.json();
      if (answer.ok) {
        this.#sessions = [...this.#sessions.slice(-9), `${said.signed_in} ${said.person_id}`];
        return { said: "right" };
      }
      return String(said.code ?? "").startsWith("pin_") ? { said: "wrong", words: String(said.detail) } : { said: "nothing" };
    } catch {
      return { said: "nothing" };
    }
  }

  /** @param {string} address @param {unknown} body */
  #post(address, body) {
    return this.#world.fetch(address, {
      method: "POST",
      credentials: "same-origin",
      redirect: "error",
      headers: { "Content-Type": "application/json", Accept: "application/json", "X-Gallery-Ops": "lock" },
      body: JSON.stringify(body),
    });
  }

  /** @param {Person} person @param {boolean} right */
  async #note(person, right) {
    const told = /** @type {Told[]} */ ((await this.#store.get("told")) ?? []);
    told.push({ person_id: person.id, at: this.#world.now().toISOString(), right, salt: person.pin?.salt ?? "" });
    await this.#store.put("told", told.slice(-MOST_TOLD));
  }

  async #hold(person = this.person, proof = this.proof) {
    this.#touched = this.#moment();
    this.#keptTouch = this.#touched.counted;
    await this.#keep(false, person, proof);
  }

  /** @param {boolean} locked */
  async #keep(locked, person = this.person, proof = this.proof) {
    await this.#store.put("who", { person, proof, sessions: this.#sessions, touched: this.#touched, locked });
  }

  #moment() {
    return { wall: this.#world.now().getTime(), counted: this.#world.monotonic(), page: this.#page };
  }
}
