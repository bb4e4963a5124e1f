// What the outbox says and saves, without a browser.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { ordered } from "../../gallery_ops/web/static/web/js/outbox/ordering.js";
import { fileName, savedFile } from "../../gallery_ops/web/static/web/js/outbox/saved_file.js";
import { Store } from "../../gallery_ops/web/static/web/js/outbox/store.js";
import { entryWords } from "../../gallery_ops/web/static/web/js/round/entry_words.js";
import { againWords, between, clockWords, headline, moreWords, nextTry, roomWords } from "../../gallery_ops/web/static/web/js/round/outbox_words.js";
import { outboxWords, wordsFor } from "../../gallery_ops/web/static/web/js/round/words.js";

const pack = JSON.parse(readFileSync(new URL("./pack.example.json", import.meta.url), "utf8"));
const words = wordsFor(pack.showroom);
const AT = new Date("2026-03-12T08:11:00Z");

async function kept(...verdicts) {
  const store = new Store({ nextSeq: 1 });
  await store.append(verdicts.map((_, i) => ({ action_id: `a${i + 1}`, kind: "note", body: {} })));
  await store.settle(verdicts.flatMap((verdict, i) => (verdict ? [{ action_id: `a${i + 1}`, verdict }] : [])));
  return store.everything();
}

test("what needs a person comes first, what waits newest first, what is sent last", async () => {
  const { people, waiting, taken } = ordered(await kept("accepted", null, "held", null, "duplicate", "malformed", "differs"));
  const ids = (list) => list.map(({ action }) => action.seq);
  assert.deepEqual([ids(people), ids(waiting), ids(taken)], [[7, 6, 3], [4, 2], [5, 1]]);
});

test("a file holds every entry that the gallery has not taken, oldest first, each as it is sent", async () => {
  const all = await kept("accepted", null, "held", null);
  const { text, entries } = savedFile({ deviceId: "t1", epoch: "e", bootId: "b", at: AT, offsetMs: 1.6, kept: all });
  const file = JSON.parse(text);
  assert.equal(entries, 3);
  assert.deepEqual(file.actions, [all[1].action, all[2].action, all[3].action]);
  assert.deepEqual([file.format, file.entries, file.offset_ms, file.device_id], ["gallery-ops-outbox", 3, 2, "t1"]);
  assert.equal((await kept("accepted", null, "held", null)).length, all.length);
});

test("a file is named after gallery, tablet and moment", () => {
  const at = new Date(2026, 2, 12, 8, 11);
  assert.equal(fileName("Haus am See", "1a2b3c4d-0000", at), "haus-am-see-1a2b3c4d-2026-03-12-0811.json");
  assert.match(fileName("水族", "", at), /^gallery--2026/);
});

test("the first words are how many and where", () => {
  assert.deepEqual(headline(12, 1, "tablet"), { strong: "12 not sent. All are kept on this tablet.", rest: "They go by themselves. One entry needs a person." });
  assert.equal(headline(1, 0, "tablet").strong, "1 not sent. It is kept on this tablet.");
  assert.match(headline(2, 0, "page").strong, /leave it open/);
  assert.deepEqual(["away", "sign_in", "stopped"].map((state) => headline(1, 0, "tablet", 0, state).rest), ["It goes by itself when the gallery answers.", "It goes when you have signed in again.", ""]);
  assert.equal(headline(0, 3, "tablet").strong, "Three entries need a person.");
  assert.equal(headline(0, 0, "tablet").strong, "All sent.");
});

test("what is of another day says the day beside its time", () => {
  const at = "2026-03-12T13:00:00Z";
  const after = (hours) => words.moment(at, new Date(Date.parse(at) + hours * 3_600_000));
  assert.deepEqual([after(2), after(24), after(24 * 9)], ["13:00", "Thu 13:00", "12 March 13:00"]);
});

test("between the shelves stands why nothing crosses, and since when", () => {
  assert.deepEqual(between("away", "07:46"), ["no answer", "since 07:46"]);
  assert.deepEqual(between("resting", null), ["nothing waits"]);
  assert.equal(nextTry(new Date(AT.getTime() + 40_000), AT), "Tries by itself again in 40 s.");
  assert.equal(nextTry(new Date(AT.getTime() + 290_000), AT), "Tries by itself again in 5 min.");
  assert.equal(nextTry(AT, AT), "");
});

test("a tablet is called full from four fifths on", () => {
  assert.deepEqual(roomWords({ free: 2.1e9, quota: 10e9 }), { words: "2.1 GB, 79 % used", full: false });
  assert.deepEqual(roomWords({ free: 2e8, quota: 1e9 }), { words: "200 MB, 80 % used", full: true });
});

test("a browser that tells no true figure of the room is not quoted", () => {
  const untold = { words: "the browser does not tell", full: false };
  assert.deepEqual(roomWords({ free: null, quota: null }), untold);
  assert.deepEqual(roomWords({ free: 5e9, quota: 5e9 }), untold); // nothing used, though this page is kept
  assert.deepEqual(roomWords({ free: 10_737_418_240, quota: 10_738_554_361 }), untold); // ten gibibytes to the byte, whatever there is
  assert.equal(roomWords({ free: 10_737_418_000, quota: 10_738_554_361 }).words, "10.7 GB, less than 1 % used");
  assert.deepEqual(roomWords({ free: 0, quota: 1e9 }), { words: "less than 1 MB, 100 % used", full: true });
});

test("a clock is right, slow or fast, or was not compared", () => {
  assert.equal(clockWords(-900), "right within 2 s");
  assert.match(clockWords(10_800_000), /^3 h slow/);
  assert.match(clockWords(-22_400_280_000), /^259 days fast/);
  assert.match(clockWords(-45_000), /^45 s fast/);
  assert.match(clockWords(null), /^not compared/);
  assert.match(clockWords(10_800_000, true), /^3 h slow when last compared;/);
  assert.equal(clockWords(0, true), "right within 2 s when last compared");
});

test("what is cut from the list says how many and from when to when", () => {
  assert.equal(moreWords(["07:49", "07:47", "07:46"]), "Three more, 07:46 to 07:49");
  assert.equal(moreWords(["07:46"]), "One more, 07:46");
  assert.equal(againWords(0), "");
  assert.match(againWords(2), /2 entries are sent once more/);
});

test("an entry reads as its maker would say it", () => {
  const [id] = Object.keys(pack.products);
  const say = (kind, body) => entryWords({ kind, body }, pack, words);
  assert.equal(say("check", { check: "opening_look", value: "all_normal" }), "Looked, all as it should be");
  assert.match(say("check", { check: "temperature", value: "24.6", unit: "°C" }), /24\.6 °C$/);
  assert.equal(say("dose", { product: id, given_ul: 3000, presses: 3 }), "Gave 3 presses, 3 mL of fertiliser");
  assert.equal(say("dose", { product: "gone", given_ul: 500, presses: null }), "Gave 0.5 mL of a product of before");
  assert.equal(say("stop_leave", { done: 2, of: 6 }), "2 of 6, left half done");
  assert.equal(say("eye_count", {}), "eye count");
  assert.ok(say("note", { text: "x".repeat(400) }).length < 70);
});

test("a tablet that is nearly full says so at the top, behind everything that waits too long", () => {
  const say = (more) => outboxWords({ counts: { waiting: 0, held: 0, unreadable: 0, oldest: null }, holds: "tablet", state: "resting", lastAnswer: null, offsetMs: 0, now: AT, ...more }, words);
  assert.deepEqual(say({ full: true }), { strong: "Tablet nearly full", text: "Save or make room", notice: true, loud: false });
  assert.equal(say({ full: false }).text, "Nothing waits here");
  assert.equal(say({ full: true, counts: { waiting: 12, held: 0, unreadable: 0, oldest: AT.toISOString() } }).strong, "12 not sent");
});

test("twelve or four hours are a notice, a day is a loud one", () => {
  const say = (waiting, hours) => outboxWords({ counts: { waiting, held: 0, unreadable: 0, oldest: new Date(AT.getTime() - hours * 3_600_000).toISOString() }, holds: "tablet", state: "soon", lastAnswer: null, offsetMs: 0, now: AT }, words);
  const loudness = (said) => (said.loud ? 2 : said.notice ? 1 : 0);
  assert.deepEqual([say(11, 1), say(12, 0), say(1, 3.9), say(1, 4), say(1, 23.9), say(1, 24)].map(loudness), [0, 1, 0, 1, 1, 2]);
});
