// Numbers typed with a wet thumb, ranges, and amounts as they are read.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import * as check from "../../gallery_ops/web/static/web/js/round/kinds/check.js";
import * as dosing from "../../gallery_ops/web/static/web/js/round/kinds/dose.js";
import * as feeding from "../../gallery_ops/web/static/web/js/round/kinds/feed.js";
import { readNumber, stepped, thousandths } from "../../gallery_ops/web/static/web/js/round/pad.js";
import { judge } from "../../gallery_ops/web/static/web/js/round/ranges.js";
import { hint, listed, outboxWords, thousandthsText, wordsFor } from "../../gallery_ops/web/static/web/js/round/words.js";

const pack = JSON.parse(readFileSync(new URL("./pack.example.json", import.meta.url)));
const english = wordsFor(pack.showroom);
const german = wordsFor({ zone: "Europe/Berlin", language: "de", decimal_mark: "," });

test("comma and point are both the decimal mark; thousands are refused with words", () => {
  for (const [text, value] of [["24.1", "24.1"], ["24,1", "24.1"], [" 24 ", "24"], [",5", "0.5"], ["007", "7"], ["24.", "24"], ["-1,5", "-1.5"], ["−1.5", "-1.5"], ["<0,05", "<0.05"], ["> 3", ">3"]]) {
    assert.equal(readNumber(text).typed?.value, value, text);
  }
  for (const text of ["1.000,5", "1,000.5", "1.000.000"]) assert.match(readNumber(text).sentence, /none for thousands/, text);
  for (const text of ["", "  ", "abc", "1e3", "0x10", "1 000", "2+", ".", "--1"]) assert.ok(readNumber(text).sentence, text);
});

test("thousandths are exact, finer ones are refused", () => {
  const of = (text) => thousandths(readNumber(text).typed);
  assert.deepEqual(["0.18", "1,125", "32", "0.001", "8.3"].map(of), [180, 1125, 32_000, 1, 8300]);
  assert.deepEqual(["0.0001", "-1", "<0.5"].map(of), [null, null, null]);
});

test("minus and plus step without binary dust", () => {
  let value = 24.1;
  for (let i = 0; i < 7; i += 1) value = Number(stepped(value, 0.1, 1));
  assert.equal(stepped(value, 0.1, 1), "24.9");
  assert.equal(stepped(0.3, 0.1, -1), "0.2");
  assert.equal(stepped(7, 1, 1), "8");
});

test("temperature: refused, asked with both readings, alarm, and a jump", () => {
  // Source of the limits: table of plausible ranges of the round pack (common practice, no source).
  const temperature = (value, last = null) => judge(value, pack.parameters.temperature, last);
  assert.equal(temperature(60).refuse, "high");
  assert.equal(temperature(-1).refuse, "low");
  assert.deepEqual([temperature(2.5).refuse, temperature(2.5).ask, temperature(2.5).other], [null, "low", 25]);
  assert.deepEqual([temperature(32).ask, temperature(32.1).ask], [null, "high"]);
  assert.deepEqual([22, 21.9, 27.5, 27.6].map((t) => temperature(t).alarm), [null, "low", null, "high"]);
  assert.deepEqual([temperature(26, 24).alarm, temperature(25.9, 24).alarm], ["jump", null]);
  assert.equal(temperature(24.1).ask, null);
});

test("ranges of the tank go over those of the parameter", () => {
  const stop = { limits: { temperature: { alarm: [18, 24] } } };
  assert.equal(check.judgeOf(pack, stop, "temperature")(25).alarm, "high");
  assert.equal(check.judgeOf(pack, {}, "temperature")(25).alarm, null);
});

test("the sentence of a refusal says field, value, limits and what to do", () => {
  const { typed } = readNumber("60");
  const sentence = check.rangeSentence(pack, "temperature", typed, judge(60, pack.parameters.temperature), english.number);
  assert.equal(sentence, "Temperature: 60 °C cannot be. Between 0 and 45 °C; read it again and type it once more.");
});

test("a dose is presses times the measured press, and asks from 1.5, twice and five times the plan", () => {
  const dose = { tool: "pump", presses: 9, per_press_ul: 924, planned_ul: 9000, measured_on: "2026-02-20" };
  assert.equal(dosing.planned(dose).ul, 8316);
  assert.equal(dosing.says(dose, dosing.planned(dose), english), "9 presses");
  assert.equal(dosing.explains(dose, dosing.planned(dose), "fertiliser", english), "8.3 mL fertiliser at 0.924 mL a press");
  assert.deepEqual([6, 9, 13, 14, 17, 18, 45, 46].map((n) => dosing.asks(dose, dosing.pressed(dose, n))), [null, null, null, "ask", "ask", "double", "double", "refuse"]);
  assert.equal(dosing.asks({ ...dose, presses: 2 }, dosing.pressed(dose, 3)), "ask");
  const short = dosing.draft({ id: "s" }, { ...dose, product: "p", source: null, task: "t", plan_version: "v" }, dosing.pressed(dose, 6), null);
  assert.deepEqual([short.body.given_ul, short.body.presses, short.body.short, short.plan_version], [5544, 6, "bottle_empty", "v"]);
});

test("above 15 mL a measuring cup: mL, no presses", () => {
  const cups = pack.stops.flatMap((stop) => stop.doses).filter((dose) => dose.tool === "cup");
  assert.deepEqual(cups.map((dose) => dose.planned_ul), [32_000, 32_000, 49_000]);
  assert.ok(pack.stops.flatMap((stop) => stop.doses).every((dose) => (dose.planned_ul > 15_000) === (dose.tool === "cup")));
  assert.equal(dosing.says(cups[0], dosing.planned(cups[0]), english), "32 mL");
  assert.equal(dosing.says(cups[0], dosing.measured(28_500, "28,5"), german), "28,5 mL of 32 mL");
});

test("food is asked about over twice, refused over five times the plan", () => {
  const feed = { planned_mg: 180 };
  assert.deepEqual([360, 361, 900, 901].map((mg) => feeding.asks(feed, mg)), [null, "ask", "ask", "refuse"]);
});

test("amounts read exactly, in the showroom's decimal mark", () => {
  assert.deepEqual([english.ml(8316), english.ml(924, 3), english.ml(2772), english.ml(49_000)], ["8.3 mL", "0.924 mL", "2.8 mL", "49 mL"]);
  assert.deepEqual([german.ml(8316), german.grams(180), english.grams(1125), english.grams(20)], ["8,3 mL", "0,18 g", "1.125 g", "0.02 g"]);
  assert.equal(thousandthsText(1050, 1, ".", true), "1.1");
  assert.equal(listed(["9 presses", "0.18 g"]), "9 presses and 0.18 g");
});

test("times are the gallery's, whatever zone the tablet is in", () => {
  const now = new Date("2026-03-12T07:58:00Z");
  assert.equal(hint({ text: "24.1 °C", at: "2026-03-11T07:41:00Z", by: "Odile" }, english, now), "24.1 °C. Wed 07:41, Odile");
  assert.equal(hint({ text: "24.1 °C", at: "2026-03-12T06:41:00Z", by: null }, english, now), "24.1 °C. today 06:41");
  assert.equal(hint({ text: "24.1 °C", at: "2026-02-26T06:41:00Z", by: "Pia" }, english, now), "24.1 °C. 26 February, Pia");
  assert.equal(german.time("2026-03-29T01:30:00Z"), "03:30"); // summer time has begun in Berlin
});

test("what waits is said in words, the gravest first", () => {
  const say = (counts, more = {}) => outboxWords({ counts: { waiting: 0, held: 0, unreadable: 0, oldest: null, ...counts }, holds: "tablet", state: "resting", lastAnswer: new Date("2026-03-12T07:58:00Z"), offsetMs: 0, now: new Date("2026-03-12T08:00:00Z"), ...more }, english);
  assert.equal(say({}).text, "All sent, 07:58");
  assert.equal(say({ waiting: 3 }).notice, false);
  assert.deepEqual([say({ waiting: 12 }).strong, say({ waiting: 12 }).text], ["12 not sent", "Kept on this tablet, they go by themselves"]);
  assert.deepEqual(say({ waiting: 2 }, { state: "away" }), { strong: "", text: "2 kept here, they go by themselves", notice: false, loud: false });
  assert.deepEqual(say({ waiting: 2 }, { state: "away" }), say({ waiting: 2 }, { state: "soon" }));
  assert.deepEqual(say({ waiting: 1 }, { state: "away", holds: "page" }), { strong: "1 kept in this page", text: "Leave it open, it goes by itself", notice: true, loud: false });
  assert.equal(say({ waiting: 1, oldest: "2026-03-12T03:59:00Z" }).strong, "1 not sent for 4 h");
  assert.match(say({ waiting: 1, oldest: "2026-03-11T07:59:00Z" }).text, /Bring it where the network is$/);
  assert.match(say({ waiting: 12 }, { holds: "page" }).text, /leave it open/);
  assert.equal(say({ waiting: 1, oldest: "2026-03-12T03:59:00Z" }).notice, true);
  assert.equal(say({ waiting: 1, oldest: "2026-03-11T07:59:00Z" }).loud, true);
  assert.match(say({ waiting: 1, held: 1, oldest: "2026-03-11T07:59:00Z" }).strong, /for more than a day/);
  assert.match(say({ waiting: 1 }, { state: "unnoted" }).text, /no room to note it/);
  assert.equal(say({ held: 1 }).strong, "1 needs a person");
  assert.equal(say({ waiting: 2 }, { state: "sign_in" }).strong, "Sign in again");
  assert.equal(say({}, { offsetMs: 420_000 }).strong, "Clock 7 min slow");
  assert.equal(say({ unreadable: 1, held: 1 }).loud, true);
});
