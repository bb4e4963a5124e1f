// Storage that is full, shut or refuses: what was not kept is said, with why and what to do, and nothing is called sent that is not known.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { envelopes } from "../../gallery_ops/web/static/web/js/outbox/envelope.js";
import { PhotoSender } from "../../gallery_ops/web/static/web/js/outbox/photo_sender.js";
import { Sender } from "../../gallery_ops/web/static/web/js/outbox/sender.js";
import { openStore } from "../../gallery_ops/web/static/web/js/outbox/store.js";
import { hashOf, photoWords } from "../../gallery_ops/web/static/web/js/round/photos.js";
import { notKept, photoNotKept, refusal, stillKept } from "../../gallery_ops/web/static/web/js/round/refusals.js";
import { Round } from "../../gallery_ops/web/static/web/js/round/round.js";
import { forgetting } from "../../gallery_ops/web/static/web/js/round/start_notice.js";
import { outboxWords, wordsFor } from "../../gallery_ops/web/static/web/js/round/words.js";

const pack = JSON.parse(readFileSync(new URL("./pack.example.json", import.meta.url), "utf8"));
const words = wordsFor(pack.showroom);
const full = new DOMException("no room", "QuotaExceededError");
const context = { device_id: "t", round_id: pack.round.id, person_id: "p", person_proof: "pin", boot_id: "b" };
const clock = { now: () => new Date("2026-03-12T08:00:00Z"), monotonic: () => 1 };
const ok = (answer) => new Response(JSON.stringify(answer), { status: 200 });

function aWorld(fetch) {
  const timers = [];
  return { timers, world: { fetch, ...clock, random: () => 0, later: (f, ms) => timers.push({ f, ms }) - 1, never: () => {}, locks: null } };
}

const topLine = (more) => outboxWords({ counts: { waiting: 0, held: 0, unreadable: 0, oldest: null }, holds: "tablet", state: "resting", lastAnswer: null, offsetMs: 0, now: clock.now(), ...more }, words);

test("a tap that was not kept says why and what to do, and never to clear what holds the rest", () => {
  const said = notKept(full);
  assert.equal(said.strong, "Not kept: this tablet is full.");
  assert.match(said.text, /Make room.*delete films.*never the browser’s data.*tap the same again.*counts once/);
  for (const name of ["VersionError", "InvalidStateError"]) assert.match(refusal(new DOMException("", name)).help, /load this one again/);
  assert.match(refusal(new Error("Another page of an older version is open: close it")).why, /another version/i);
  const other = notKept(new DOMException("", "UnknownError"));
  assert.match(`${other.strong} ${other.text}`, /cannot keep entries.*does not let.*Never clear its data/);
});

test("a photo that was not kept is told by its reason", () => {
  assert.match(photoNotKept(full), /too full for it\. Ticks and numbers are still kept.*take it again/);
  assert.match(photoNotKept(null), /locked, or still writing/);
  assert.match(photoNotKept(new DOMException("", "InvalidStateError")), /another version.*load this one again/);
});

test("a tablet whose list does not open keeps nothing, settles nothing and is not called empty", async () => {
  const shut = await openStore({ deviceId: "t", nextSeq: 7, keeps: "tablet" }); // no database here at all
  assert.match(shut.shut.message, /keeps nothing/);
  assert.equal(shut.holds, "tablet");
  await assert.rejects(shut.append([]), /keeps nothing/);
  await assert.rejects(shut.settle([]), /keeps nothing/);
  await assert.rejects(shut.offerAgain(0), /keeps nothing/);
  const round = new Round({ pack: structuredClone(pack), store: shut, context, clock });
  assert.equal(round.canKeep, false, "said before the first tap");
  const said = topLine({ shut: true });
  assert.deepEqual([said.text, said.loud], ["What waits in it cannot be known", true]);
});

test("another database met by a tablet that does not open is not noted as offered", async () => {
  const shut = await openStore({ deviceId: "t", nextSeq: 7, keeps: "tablet" });
  const noted = [];
  const sender = new Sender({ store: shut, address: "/o", headers: {}, deviceId: "t", bootId: "b", epoch: "old", keepEpoch: async (epoch) => void noted.push(epoch), world: aWorld(async () => ok({})).world });
  await sender.meet("new", 3);
  assert.deepEqual([noted, sender.epoch, sender.isOwing], [[], "old", true]);
  assert.match(topLine({ owing: true }).text, /no room to note it\. Make room/);
});

test("what a full tablet cannot offer again lets the round open, and is offered when there is room", async () => {
  const store = await openStore({ deviceId: "t", nextSeq: 1, keeps: "page" });
  const [action] = await store.append(envelopes([{ kind: "note", body: { text: "x" } }], context, clock));
  await store.settle([{ action_id: action.action_id, verdict: "accepted" }]);
  const { world } = aWorld(async () => ok({ epoch: "one", server_time: "2026-03-12T08:00:00Z", received_up_to: 0, verdicts: [] }));
  const sender = new Sender({ store, address: "/o", headers: {}, deviceId: "t", bootId: "b", epoch: "one", world });
  const { offerAgain } = store;
  store.offerAgain = async () => Promise.reject(full);
  await sender.meet("one", 0);
  await sender.ask();
  assert.equal(sender.isOwing, true);
  store.offerAgain = offerAgain;
  store.append = async () => assert.fail("nothing is written anew");
  await sender.meet("one", 0);
  assert.deepEqual([sender.isOwing, sender.offeredAgain, (await store.counts()).waiting], [false, 1, 1]);
});

test("what a person decided is heard once more where it could not be noted", async () => {
  const store = await openStore({ deviceId: "t", nextSeq: 1, keeps: "page" });
  const [action] = await store.append(envelopes([{ kind: "note", body: { text: "x" } }], context, clock));
  await store.settle([{ action_id: action.action_id, verdict: "held" }]);
  const decided = [{ action_id: action.action_id, verdict: "noted", words: "kept as a note", at: "2026-03-12T08:00:00Z" }];
  const { world } = aWorld(async () => ok({ epoch: "one", received_up_to: 1, verdicts: [], decided }));
  const sender = new Sender({ store, address: "/o", headers: {}, deviceId: "t", bootId: "b", epoch: "one", world });
  const { settle } = store;
  store.settle = async () => Promise.reject(full);
  await sender.ask();
  store.settle = settle;
  await sender.ask();
  assert.equal((await store.everything())[0].verdict.verdict, "noted");
});

/** A photo whose entry the gallery has. */
async function aPhoto(received = 5) {
  const store = await openStore({ deviceId: "t", nextSeq: 1, keeps: "page" });
  const bytes = new Uint8Array(5).buffer;
  const picture = { bytes, sha256: await hashOf(bytes) };
  const [action] = await store.append(envelopes([{ kind: "photo", stop_id: null, body: { sha256: picture.sha256, size_bytes: 5 } }], context, clock), [picture]);
  await store.settle([{ action_id: action.action_id, verdict: "accepted" }]);
  let asked = 0;
  const { world, timers } = aWorld(async () => ((asked += 1), ok({ received_bytes: received, is_whole: true })));
  return { store, timers, sender: new PhotoSender({ store, address: "/p/", headers: {}, deviceId: "t", world }), asked: () => asked };
}

test("a photo that was sent and cannot be noted still waits, is told, and is noted when there is room", async () => {
  const { store, sender, timers } = await aPhoto();
  const { settle } = store.photos;
  store.photos.settle = async () => Promise.reject(full);
  await sender.send();
  const [photo] = await store.photos.all();
  assert.deepEqual([sender.state, photo.state, timers.at(-1).ms], ["unnoted", "waits", 2000]);
  assert.match(photoWords(photo, sender), /no room here to note.*make room/);
  assert.deepEqual(topLine({ photos: { waiting: 1, refused: 0, stuck: true } }), { strong: "One photo is stuck here", text: "Tap to see why", notice: true, loud: false });
  store.photos.settle = settle;
  await sender.tryNow();
  assert.deepEqual([sender.state, (await store.photos.all())[0].state], ["resting", "sent"]);
});

test("a photo that the tablet does not give out is tried again, then stands aside in sight", async () => {
  const { store, sender, asked } = await aPhoto();
  store.photos.bytes = async () => Promise.reject(new DOMException("", "DataError"));
  for (let turn = 0; turn < 4; turn += 1) await sender.send();
  assert.equal(sender.state, "unread");
  await sender.send();
  const [photo] = await store.photos.all();
  assert.deepEqual([photo.state, sender.state, asked()], ["refused", "resting", 0]);
  assert.match(photoWords(photo, sender), /Not sent.*Take it again/);
  assert.equal(topLine({ photos: { waiting: 0, refused: 1, stuck: false } }).strong, "One photo did not arrive");
});

test("a list that does not answer leaves no photo in silence", async () => {
  const { store, sender, timers } = await aPhoto();
  store.photos.next = async () => Promise.reject(new DOMException("", "InvalidStateError"));
  await sender.send();
  assert.deepEqual([sender.state, timers.length], ["unread", 1]);
});

test("all is not sent while a photo waits", () => {
  assert.match(topLine({ photos: { waiting: 1, refused: 0, stuck: false } }).text, /^One photo kept here/);
});

test("a round that did not open says what it knows of earlier entries, and no more", () => {
  assert.match(stillKept({ waiting: 3 }, "tablet"), /^3 entries wait on this tablet and stay here/);
  assert.match(stillKept({ waiting: 1 }, "tablet"), /^One entry waits/);
  assert.equal(stillKept({ waiting: 0 }, "tablet"), "Nothing of this tablet waits.");
  assert.match(stillKept(null, "tablet"), /cannot be known/);
  assert.equal(stillKept(null, "page"), "Nothing was entered in this page.");
});

test("a window that may forget is told of by what the browser lets know", () => {
  const normal = { isSecure: true, hasWorker: true };
  const GB = 1e9;
  const strong = (tablet, browser = normal) => forgetting({ stays: false, installed: false, quota: 10 * GB, ...tablet }, browser)?.strong ?? null;
  assert.equal(strong({}), "Is this a private window?");
  assert.equal(strong({ stays: true }), null);
  assert.equal(strong({ installed: true }), null);
  assert.equal(strong({ stays: null }), null, "over http the browser cannot be asked");
  assert.equal(strong({ quota: 50e6 }), "This may be a private window.");
  assert.equal(strong({ stays: null }, { isSecure: true, hasWorker: false }), "This may be a private window.");
  assert.equal(strong({ stays: null }, { isSecure: false, hasWorker: false }), null);
  assert.match(forgetting({ stays: false, installed: false, quota: null }, normal).text, /Closing one loses what is not sent.*leave the window open/);
});
