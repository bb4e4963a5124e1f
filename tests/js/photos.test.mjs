// A photo is kept with its entry or not at all, goes last, goes on where it ended, and is let go only
// when the gallery has it.
import assert from "node:assert/strict";
import { test } from "node:test";
import { envelopes } from "../../gallery_ops/web/static/web/js/outbox/envelope.js";
import { PIECE_BYTES, PhotoSender } from "../../gallery_ops/web/static/web/js/outbox/photo_sender.js";
import { openStore } from "../../gallery_ops/web/static/web/js/outbox/store.js";
import { make } from "../../gallery_ops/web/static/web/js/outbox/tablet_store.js";
import { fitted, hashOf, photoWords } from "../../gallery_ops/web/static/web/js/round/photos.js";

const context = { device_id: "tablet-1", round_id: "r", person_id: "p", person_proof: "pin", boot_id: "b" };
const clock = { now: () => new Date("2026-03-12T08:00:00Z"), monotonic: () => 1 };

async function picture(bytes) {
  const body = new Uint8Array(bytes).map((_, i) => i % 251).buffer;
  return { bytes: body, sha256: await hashOf(body) };
}

function photoOf({ sha256, bytes }) {
  return { kind: "photo", stop_id: "s", body: { sha256, size_bytes: bytes.byteLength, media_type: "image/jpeg", viewpoint: "front", entry: null } };
}

/** The gallery's end: keeps pieces in order; `lose` drops the n-th request before, `deaf` after it was taken. */
function gallery({ lose = [], deaf = [], status = () => null } = {}) {
  const got = new Map();
  const seen = [];
  const fetch = async (address, { headers, body, method }) => {
    const n = seen.push({ address, range: headers["Content-Range"], method }) - 1;
    if (lose.includes(n)) throw new TypeError("no network");
    const said = status(n);
    if (said) return { ok: false, status: said.status, headers: new Headers(said.headers ?? {}), json: async () => said.body ?? {} };
    const [, from, , size] = /^bytes (?:(\d+)-(\d+)|\*)\/(\d+)$/.exec(headers["Content-Range"]);
    const here = got.get(address) ?? new Uint8Array();
    if (from !== undefined && Number(from) === here.length) got.set(address, new Uint8Array([...here, ...new Uint8Array(body)]));
    if (deaf.includes(n)) throw new TypeError("answer lost");
    const received = got.get(address)?.length ?? 0;
    return { ok: true, status: 200, headers: new Headers(), json: async () => ({ received_bytes: received, size_bytes: Number(size), is_whole: received === Number(size) }) };
  };
  return { got, seen, fetch };
}

async function setUp(given = {}, sizes = [PIECE_BYTES + 10]) {
  const store = await openStore({ deviceId: "tablet-1", nextSeq: 1 });
  const there = gallery(given);
  const timers = [];
  const world = { fetch: there.fetch, now: clock.now, monotonic: () => 1, random: () => 0, later: (f, ms) => timers.push({ f, ms }) - 1, never: () => {}, locks: null };
  const sender = new PhotoSender({ store, address: "/api/v1/photos/", headers: {}, deviceId: "tablet-1", world });
  const pictures = await Promise.all(sizes.map(picture));
  const actions = [];
  for (const one of pictures) actions.push(...(await store.append(envelopes([photoOf(one)], context, clock), [one])));
  const acknowledge = () => store.settle(actions.map(({ action_id }) => ({ action_id, verdict: "accepted" })));
  return { store, sender, timers, pictures, acknowledge, ...there };
}

const states = async (store) => (await store.photos.all()).map(({ state }) => state);

test("a photo and its entry are kept together or not at all", async () => {
  const store = await openStore({ deviceId: "t", nextSeq: 1 });
  const one = await picture(9);
  await assert.rejects(store.append(envelopes([photoOf(one)], context, clock)), /together/);
  await assert.rejects(store.append(envelopes([{ kind: "note", body: { text: "x" } }], context, clock), [one]), /together/);
  await assert.rejects(store.append(envelopes([photoOf(one)], context, clock), [{ ...one, bytes: new ArrayBuffer(3) }]), /together/);
  assert.deepEqual([await store.counts().then((c) => c.waiting), await store.photos.all()], [0, []]);
  const [action] = await store.append(envelopes([photoOf(one)], context, clock), [one]);
  assert.equal(action.seq, 1);
});

test("entries go first: no piece of a photo leaves while one waits", async () => {
  const { store, sender, seen, acknowledge } = await setUp();
  await sender.send();
  assert.deepEqual([seen.length, sender.state], [0, "last"]);
  await acknowledge();
  await sender.send();
  assert.deepEqual([await states(store), sender.state], [["sent"], "resting"]);
});

for (const [name, given] of Object.entries({ nothing: {}, "a request": { lose: [1] }, "an answer": { deaf: [1] }, "an answer about the last piece": { deaf: [2] } })) {
  test(`it arrives whole and once where ${name} is lost`, async () => {
    const { store, sender, got, seen, timers, pictures, acknowledge } = await setUp(given);
    await acknowledge();
    await sender.send();
    for (let i = 0; i < 3 && (await states(store))[0] !== "sent"; i += 1) {
      assert.equal(timers.at(-1).ms, 2000);
      timers.at(-1).f();
      await new Promise((done) => setTimeout(done));
      await sender.send();
    }
    assert.deepEqual(await states(store), ["sent"]);
    const [[address, bytes]] = got;
    assert.equal(address, `/api/v1/photos/${pictures[0].sha256}`);
    assert.equal(await hashOf(bytes.buffer), pictures[0].sha256);
    assert.match(seen[0].range, /^bytes \*\//);
  });
}

test("one after the other, and a refused one stays here and does not stop the next", async () => {
  const body = { code: "no_picture", detail: "This cannot be read as one." };
  const { store, sender, acknowledge } = await setUp({ status: (n) => (n === 0 ? { status: 409, body } : null) }, [5, 6]);
  await acknowledge();
  await sender.send();
  assert.deepEqual(await states(store), ["refused", "sent"]);
  const [refused] = await store.photos.all();
  assert.match(photoWords(refused, sender), /cannot be read/);
  assert.equal(await store.photos.makeRoom(null), 1);
  assert.deepEqual(await states(store), ["refused"]);
});

test("it waits as long as it is asked to, and asks to sign in", async () => {
  const { sender, timers, acknowledge } = await setUp({ status: (n) => (n === 0 ? { status: 507, headers: { "Retry-After": "900" } } : { status: 401 }) });
  await acknowledge();
  await sender.send();
  assert.deepEqual([sender.state, timers.at(-1).ms], ["away", 900_000]);
  await sender.tryNow();
  assert.equal(sender.state, "sign_in");
});

test("what was sent is let go after 14 days, waits again after a restore, and never goes before it was sent", async () => {
  const { store, sender, acknowledge } = await setUp({}, [7]);
  assert.equal(await store.photos.makeRoom(null), 0);
  await acknowledge();
  await sender.send();
  assert.equal(await store.photos.makeRoom(new Date("2026-03-26T07:59:00Z")), 0);
  await store.offerAgain(0);
  assert.deepEqual(await states(store), ["waits"]);
  assert.equal(await store.photos.makeRoom(new Date("2027-01-01T00:00:00Z")), 0);
  await acknowledge();
  await sender.send();
  assert.equal(await store.photos.makeRoom(new Date("2026-03-26T08:01:00Z")), 1);
});

test("a tablet of before gets room for photos beside what it has; a new one gets everything", () => {
  const made = (from) => {
    const names = [];
    const index = () => ({ createIndex() {} });
    const entries = { ...index(), openCursor: () => ({}) };
    make({ createObjectStore: (name) => (names.push(name), index()), deleteObjectStore: () => assert.fail("nothing is thrown away") }, from, { objectStore: () => entries });
    return names;
  };
  assert.deepEqual(made(0), ["entries", "drafts", "meta", "photos", "photo_bytes"]);
  assert.deepEqual(made(1), ["photos", "photo_bytes"]);
  assert.deepEqual(made(2), []);
});

test("the long side is 2,560 at most, whichever it is, and nothing is made larger", () => {
  assert.deepEqual(fitted(4000, 3000), { width: 2560, height: 1920 });
  assert.deepEqual(fitted(3000, 4000), { width: 1920, height: 2560 });
  assert.deepEqual(fitted(640, 480), { width: 640, height: 480 });
  assert.deepEqual(fitted(50_000, 1), { width: 2560, height: 1 });
});
