// Who holds the tablet: PINs without the network, rests that no clock shortens, ten minutes without a touch.
import assert from "node:assert/strict";
import { createHmac, webcrypto } from "node:crypto";
import { test } from "node:test";
import { Lock } from "../../gallery_ops/web/static/web/js/round/lock.js";
import { verifierOf } from "../../gallery_ops/web/static/web/js/round/lock_pin.js";
import { afterTime, afterWrong, isIdle, NONE, restLeft, restWords } from "../../gallery_ops/web/static/web/js/round/lock_rules.js";
import { memoryStore } from "../../gallery_ops/web/static/web/js/round/lock_store.js";

const { subtle } = webcrypto;
const SALT = "6b".repeat(16);
const MIN = 60_000;
const AT = Date.parse("2026-03-12T08:00:00Z");

test("the verifier is HMAC-SHA-256 over PBKDF2-SHA-256", async () => {
  // Source: RFC 7914, section 11: PBKDF2-HMAC-SHA-256 of "passwd" and "salt", one iteration, first 32 bytes.
  const base = Buffer.from("55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc", "hex");
  const wanted = createHmac("sha256", Buffer.from(SALT, "hex")).update(base).digest("hex");
  const salt = Buffer.from("salt").toString("hex");
  assert.equal(await verifierOf("passwd", { salt, iterations: 1 }, SALT, subtle), wanted);
});

test("ten minutes without a touch lock it, by the longer of both clocks", () => {
  const touched = { wall: AT, counted: 0, page: "a" };
  const after = (wall, counted, page = "a") => isIdle(touched, { wall: AT + wall * MIN, counted: counted * MIN, page });
  assert.deepEqual([after(9.9, 9.9), after(10, 10), after(10, 0), after(-180, 10), after(-180, 5)], [false, true, true, true, false]);
  // after loading the page again only the wall clock is left; one that was set back opens nothing
  assert.deepEqual([after(9.9, 0, "b"), after(10, 0, "b"), after(-2, 0, "b"), after(-0.5, 0, "b")], [false, true, true, false]);
});

test("five wrong tries rest for five minutes; no change of the wall clock shortens it", () => {
  let tries = NONE;
  for (let n = 0; n < 4; n += 1) tries = afterWrong(tries, AT);
  assert.equal(restLeft(tries, AT), 0);
  tries = afterWrong(tries, AT);
  for (const hours of [-24, -3, 0, 3, 24]) assert.equal(restLeft(tries, AT + hours * 60 * MIN), 5 * MIN, `${hours} h`);
  tries = afterTime(tries, 2 * MIN, AT - 180 * MIN);
  assert.equal(restLeft(tries, AT - 180 * MIN), 3 * MIN);
  assert.equal(restLeft(tries, AT + 180 * MIN), 3 * MIN);
  tries = afterTime(tries, 3 * MIN, AT + 5 * MIN);
  assert.equal(restLeft(tries, AT + 5 * MIN), 0);
  assert.match(restWords(4.2 * MIN), /again in 5 min/);
});

async function people() {
  const pin = async (digits) => ({ salt: "01".repeat(16), iterations: 1, verifier: await verifierOf(digits, { salt: "01".repeat(16), iterations: 1 }, SALT, subtle) });
  return [
    { id: "bram", name: "Bram Tolliver", role: "carer", skills: [], pin: await pin("294063") },
    { id: "odile", name: "Odile Marsh", role: "senior_carer", skills: [], pin: await pin("718204") },
    { id: "gita", name: "Gita Rowe", role: "carer", skills: [] },
  ];
}

/** A tablet that can be killed and opened again: its store stays, the page does not. */
function tablet({ gallery = async () => { throw new TypeError("no network"); }, store = memoryStore() } = {}) {
  const clock = { wall: AT, counted: 0 };
  const calls = [];
  const it = { clock, store, calls, gallery };
  it.opened = async ({ kept = true, session = "s1", you = "bram" } = {}) => {
    clock.counted = 0;
    const world = { now: () => new Date(clock.wall), monotonic: () => clock.counted, subtle, wait: () => new Promise((done) => setTimeout(done, 5)), fetch: (address, how) => { calls.push([address, JSON.parse(how.body)]); return it.gallery(address, JSON.parse(how.body)); } };
    const lock = new Lock({ people: await people(), you, salt: SALT, store, world, page: `p${Math.random()}`, session, addresses: { unlock: "/in", tries: "/tries" } });
    await lock.begin(kept);
    return lock;
  };
  it.pass = (minutes) => { clock.wall += minutes * MIN; clock.counted += minutes * MIN; };
  return it;
}

const says = (status, body) => ({ ok: status < 400, status, json: async () => body });

test("a kept round opens at the lock, and opens by name and digits without the network", async () => {
  const lock = await tablet().opened();
  assert.deepEqual([lock.isLocked, lock.people.map((one) => one.id)], [true, ["bram", "odile"]]);
  assert.match(await lock.open("odile", "718205"), /Not these digits. 4 tries left/);
  assert.equal(await lock.open("odile", "718204"), "");
  assert.deepEqual([lock.isLocked, lock.person, lock.proof], [false, "odile", "pin"]);
});

test("whoever the gallery let in holds the tablet, and after a reload whoever held it last", async () => {
  const it = tablet();
  let lock = await it.opened({ kept: false });
  assert.deepEqual([lock.isLocked, lock.person, lock.proof], [false, "bram", "session"]);
  assert.equal(await lock.open("odile", "718204"), "");
  it.pass(9);
  lock = await it.opened();
  assert.deepEqual([lock.isLocked, lock.person, lock.proof], [false, "odile", "pin"]);
  it.pass(10);
  lock = await it.opened();
  assert.equal(lock.isLocked, true);
  lock = await it.opened({ kept: false, session: "s2" });
  assert.deepEqual([lock.isLocked, lock.person], [false, "bram"]);
});

test("a touch puts the lock off, and a tap that comes too late locks", async () => {
  const it = tablet();
  const lock = await it.opened({ kept: false });
  it.pass(9);
  lock.touch();
  it.pass(9);
  assert.equal(lock.check(), false);
  it.pass(1);
  lock.touch();
  assert.equal(lock.isLocked, true);
});

test("five wrong tries lock one name on this tablet, also when it is killed and its clock set back", async () => {
  const it = tablet();
  let lock = await it.opened();
  for (let n = 0; n < 4; n += 1) await lock.open("bram", "000001");
  assert.match(await lock.open("bram", "000001"), /rests on this tablet. Try again in 5 min/);
  assert.match(await lock.open("bram", "294063"), /rests on this tablet/);
  for (const hours of [-3, 24]) {
    it.clock.wall = AT + hours * 60 * MIN;
    lock = await it.opened();
    assert.match(await lock.open("bram", "294063"), /rests/, `${hours} h`);
  }
  assert.equal(await lock.open("odile", "718204"), "");
  for (let n = 0; n < 30; n += 1) {
    it.pass(1 / 6);
    await lock.count();
  }
  assert.equal(await lock.open("bram", "294063"), "");
});

test("with the network the gallery decides: a PIN that was changed, and one that rests there", async () => {
  const it = tablet({ gallery: async (_address, { pin }) => (pin === "555172" ? says(200, { person_id: "bram", signed_in: "s9" }) : says(400, { code: "pin_wrong", detail: "This PIN is not right. Tries left: 4." })) });
  const lock = await it.opened();
  assert.match(await lock.open("bram", "294063"), /Tries left: 4/);
  assert.equal(lock.isLocked, true);
  assert.equal(await lock.open("bram", "555172"), "");
  assert.equal(lock.proof, "session");
  const again = await it.opened({ kept: false, session: "s9" });
  assert.deepEqual([again.isLocked, again.person, again.proof], [false, "bram", "session"]);
});

test("a gallery that answers late proves it afterwards, or locks again", async () => {
  for (const [answer, locked, proof] of [[says(200, { person_id: "bram", signed_in: "s9" }), false, "session"], [says(400, { code: "pin_wrong", detail: "no" }), true, "pin"], [says(503, {}), false, "pin"]]) {
    let late;
    const it = tablet({ gallery: () => new Promise((done) => (late = () => done(answer))) });
    const lock = await it.opened();
    assert.equal(await lock.open("bram", "294063"), "");
    assert.deepEqual([lock.isLocked, lock.proof], [false, "pin"]);
    late();
    await new Promise((done) => setTimeout(done, 5));
    assert.deepEqual([lock.isLocked, lock.proof], [locked, proof]);
  }
});

test("what was tried without the network is told once it is back, and only then forgotten", async () => {
  const it = tablet();
  const lock = await it.opened();
  await lock.open("bram", "000001");
  await lock.open("bram", "294063");
  await lock.tell();
  assert.equal((await it.store.get("told")).length, 2);
  it.gallery = async () => says(200, { kept: 2 });
  await lock.tell();
  const [, body] = it.calls.at(-1);
  assert.deepEqual(body.tries.map(({ person_id, right }) => [person_id, right]), [["bram", false], ["bram", true]]);
  assert.ok(!JSON.stringify(body).includes("294063"));
  assert.deepEqual(await it.store.get("told"), []);
});

test("without a PIN nobody could open it: then nothing is locked", async () => {
  const lock = new Lock({ people: (await people()).slice(2), you: "gita", salt: SALT, store: memoryStore(), world: { now: () => new Date(AT), monotonic: () => 99 * MIN, subtle, wait: async () => null, fetch: async () => says(503, {}) }, page: "p", session: "s", addresses: { unlock: "/in", tries: "/tries" } });
  await lock.begin(true);
  lock.lock();
  assert.equal(lock.isLocked, false);
});
