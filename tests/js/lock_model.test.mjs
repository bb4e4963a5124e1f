// Whose name stands under each entry? Chance drives a shared tablet: right and wrong digits, locks, waiting, reloads,
// a clock set back, taps at any moment; an oracle written down apart says who held the glass.
import assert from "node:assert/strict";
import { webcrypto } from "node:crypto";
import { test } from "node:test";
import { envelopes } from "../../gallery_ops/web/static/web/js/outbox/envelope.js";
import { Lock } from "../../gallery_ops/web/static/web/js/round/lock.js";
import { verifierOf } from "../../gallery_ops/web/static/web/js/round/lock_pin.js";
import { memoryStore } from "../../gallery_ops/web/static/web/js/round/lock_store.js";

const { subtle } = webcrypto;
const SALT = "6b".repeat(16);
const MIN = 60_000;
const AT = Date.parse("2026-03-12T08:00:00Z");
const PINS = { bram: "294063", odile: "718204", runa: "530917" };
const NAMES = Object.keys(PINS);
const RUNS = Number(process.env.LOCK_RUNS ?? 120);
const STEPS = 40;

/** A number from 0 to 1, the same for the same seed. @param {number} seed */
function chance(seed) {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}

const salt = "01".repeat(16);
const people = await Promise.all(NAMES.map(async (id) => ({ id, name: id, role: "carer", skills: [], pin: { salt, iterations: 1, verifier: await verifierOf(PINS[id], { salt, iterations: 1 }, SALT, subtle) } })));

async function run(seed, counted) {
  const random = chance(seed);
  const pick = (/** @type {any[]} */ list) => list[Math.floor(random() * list.length)];
  const store = memoryStore();
  const slow = { get: store.get.bind(store), put: async (/** @type {string} */ key, /** @type {any} */ value) => { await null; await null; return store.put(key, value); } };
  const clock = { wall: AT, counted: 0 };
  const context = { device_id: "t", round_id: "r", person_id: "", person_proof: "pin", boot_id: "b" };
  // the oracle: who holds the glass, wrong digits in a row by name, and until when a name rests
  const truth = { holder: /** @type {string | null} */ ("bram"), idle: 0, wrong: { bram: 0, odile: 0, runa: 0 }, rest: { bram: 0, odile: 0, runa: 0 } };
  let lock;
  const open = async (session) => {
    clock.counted = 0;
    const world = { now: () => new Date(clock.wall), monotonic: () => clock.counted, subtle, wait: () => Promise.resolve(), fetch: async () => { throw new TypeError("no network"); } };
    lock = new Lock({ people, you: "bram", salt: SALT, store: slow, world, page: `p${random()}`, session, addresses: { unlock: "/in", tries: "/tries" } });
    await lock.begin(true);
    lock.onChange = () => Object.assign(context, { person_id: lock.person, person_proof: lock.isLocked ? "pin" : lock.proof });
    lock.onChange();
  };
  const tap = () => {
    if (lock.isLocked) return void (counted.refused += 1);
    const [entry] = envelopes([{ kind: "note", body: { text: "x" } }], context, { now: () => new Date(clock.wall), monotonic: () => clock.counted });
    assert.equal(entry.person_id, truth.holder, `seed ${seed}`);
    assert.equal(entry.person_proof, "pin");
    counted.entries += 1;
  };
  await open("s1");
  truth.holder = null; // a kept round opens at the lock
  for (let step = 0; step < STEPS; step += 1) {
    const deed = pick(["tap", "tap", "tap", "right", "right", "wrong", "wrong", "lock", "wait", "wait", "reload", "set back", "many wrong"]);
    if (deed === "tap") {
      lock.touch();
      tap();
      if (!lock.isLocked) truth.idle = 0;
    } else if (["right", "wrong", "many wrong"].includes(deed)) {
      const id = pick(NAMES);
      for (let n = 0; n < (deed === "many wrong" ? 5 : 1); n += 1) {
        const rests = truth.rest[id] > 0;
        const digits = deed === "right" ? PINS[id] : pick(["000001", ...NAMES.filter((name) => name !== id).map((name) => PINS[name])]);
        const said = lock.open(id, digits);
        const before = context.person_id;
        if (!lock.isLocked) assert.equal(context.person_id, before);
        for (let ms = 0; ms < 12; ms += 1) { // taps that fall into the middle of a change of hands
          await null;
          if (!lock.isLocked) assert.equal(context.person_id, lock.person, `seed ${seed}: the name lags behind`);
        }
        const words = await said;
        assert.equal(words === "", deed === "right" && !rests, `seed ${seed}: ${id} ${words}`);
        if (words === "") Object.assign(truth, { holder: id, idle: 0 });
        if (!rests) {
          truth.wrong[id] = deed === "right" ? 0 : truth.wrong[id] + 1;
          if (truth.wrong[id] === 5) { truth.rest[id] = 5; truth.wrong[id] = 0; counted.rests += 1; }
        }
      }
    } else if (deed === "lock") {
      lock.lock();
      truth.holder = null;
    } else if (deed === "wait") {
      const minutes = pick([1, 4, 6, 11]);
      clock.wall += minutes * MIN;
      clock.counted += minutes * MIN;
      await lock.count();
      lock.check();
      truth.idle += minutes;
      for (const id of NAMES) truth.rest[id] = Math.max(0, truth.rest[id] - minutes);
      if (truth.idle >= 10) truth.holder = null;
    } else if (deed === "set back") {
      await lock.count();
      clock.wall -= 30 * MIN;
      await lock.count();
      await open("s1"); // and the page is loaded again
      truth.holder = null; // whose clock ran backwards cannot say how long nobody touched it
    } else {
      await lock.count();
      await open("s1");
      truth.idle = 0; // somebody pressed something to load it again
    }
    assert.equal(lock.isLocked, truth.holder === null, `seed ${seed}, ${deed}`);
    if (!lock.isLocked) assert.equal(lock.person, truth.holder, `seed ${seed}, ${deed}`);
  }
}

test("an entry is never credited to anybody but whoever gave the right digits last", async () => {
  const counted = { entries: 0, refused: 0, rests: 0 };
  for (let seed = 1; seed <= RUNS; seed += 1) await run(seed, counted);
  console.log({ runs: RUNS, ...counted });
  assert.ok(counted.entries > 3 * RUNS && counted.refused > RUNS && counted.rests > RUNS / 2, JSON.stringify(counted));
});
