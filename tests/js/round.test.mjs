// What is entered, what is still to do, where the walk goes on: from the example of twenty stops.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { openStore } from "../../gallery_ops/web/static/web/js/outbox/store.js";
import * as check from "../../gallery_ops/web/static/web/js/round/kinds/check.js";
import * as dosing from "../../gallery_ops/web/static/web/js/round/kinds/dose.js";
import * as feeding from "../../gallery_ops/web/static/web/js/round/kinds/feed.js";
import * as skipping from "../../gallery_ops/web/static/web/js/round/kinds/skip.js";
import { localHour } from "../../gallery_ops/web/static/web/js/round/come_back.js";
import { looksOf, readPack, taskOf } from "../../gallery_ops/web/static/web/js/round/pack.js";
import { Round } from "../../gallery_ops/web/static/web/js/round/round.js";
import { nextStop, stopState } from "../../gallery_ops/web/static/web/js/round/state.js";
import { inSight } from "../../gallery_ops/web/static/web/js/round/walk.js";

const example = () => readPack(JSON.parse(readFileSync(new URL("./pack.example.json", import.meta.url))));
const at = (pack, code) => pack.stops.find((stop) => stop.tank === code);

async function aRound({ minutes = { now: 0 } } = {}) {
  const pack = example();
  const store = await openStore({ deviceId: "tablet-1", nextSeq: 1 });
  let ms = Date.parse("2026-03-12T07:58:00Z");
  const clock = { now: () => new Date((ms += 1000) + minutes.now * 60_000), monotonic: () => 0 };
  const context = { device_id: "tablet-1", round_id: pack.round.id, person_id: pack.you.person, person_proof: "pin", boot_id: "b" };
  const round = new Round({ pack, store, context, clock });
  await round.refresh();
  return { round, pack, store };
}

const looked = (round, stop) => [check.allNormal(stop, round.stateOf(stop).looksLeft.map((l) => l.look), taskOf(stop, "look").id)];
const gave = (stop) => [...stop.doses.map((d) => dosing.draft(stop, d, dosing.planned(d), null)), ...stop.feeds.map((f) => feeding.draft(stop, f, f.planned_mg, null))];

test("a normal tank is two taps; one with nothing to give and no test is one", async () => {
  const { round, pack } = await aRound();
  const stop = at(pack, "T11");
  stop.readings = [];
  await round.append(looked(round, stop));
  assert.equal(round.stateOf(stop).mark, "half");
  await round.append(gave(stop));
  assert.equal(round.stateOf(stop).mark, "done");
  const bare = at(pack, "T14");
  bare.readings = [];
  await round.append(looked(round, bare));
  assert.equal(round.stateOf(bare).finished, true);
});

test("the whole round by plan: 19 seen, 18 dosed, 196 mL by measure where a press is 1 mL", async () => {
  // Source of 196 mL: sum of the dose column of demo_fleet.csv.
  const { round, pack, store } = await aRound();
  let taps = 0;
  for (const stop of pack.stops) {
    stop.readings = [];
    for (const dose of stop.doses) if (dose.tool === "pump") dose.per_press_ul = 1000;
  }
  let { stop } = nextStop(pack.stops, round.states, null);
  const passed = [];
  while (stop) {
    await round.append(looked(round, stop));
    taps += 1;
    if (gave(stop).length) {
      await round.append(gave(stop));
      taps += 1;
    }
    const next = nextStop(pack.stops, round.states, stop.id);
    passed.push(...next.passed.map((p) => p.tank));
    stop = next.stop;
  }
  const actions = (await store.ofRound(pack.round.id)).map((kept) => kept.action);
  const doses = actions.filter((a) => a.kind === "dose");
  assert.deepEqual(passed, ["T09"]);
  assert.equal([...round.states.values()].filter((s) => s.mark === "done").length, 19);
  assert.equal(doses.length, 18);
  assert.equal(doses.reduce((sum, a) => sum + a.body.given_ul, 0), 196_000);
  assert.equal(taps, 19 + 18);
  assert.equal(actions[0].kind, "round_open");
  assert.equal(actions.filter((a) => a.kind === "round_open").length, 1);
  assert.deepEqual(actions.map((a) => a.seq), actions.map((_, i) => i + 1));
});

test("no last value is ever sent: what is entered holds nothing of the hints", async () => {
  const { round, pack, store } = await aRound();
  for (const stop of pack.stops) {
    for (const look of stop.looks) if (look.last) look.last = { ...look.last, text: "HINT", value: 987.25, by: "HINT" };
    if (stop.empty_day === null) await round.append([...looked(round, stop), ...gave(stop)]);
  }
  const sent = JSON.stringify(await store.ofRound(pack.round.id));
  assert.ok(!sent.includes("HINT") && !sent.includes("987.25"));
});

test("one look different: the tick names only the others, and the tank was not as it was", async () => {
  const { round, pack } = await aRound();
  const stop = at(pack, "T12");
  const yellow = pack.parameters.drop_checker.options.at(-1);
  await round.append([check.chosen(stop, "drop_checker", yellow, "drop_checker")]);
  const [draft] = looked(round, stop);
  assert.deepEqual(draft.body.looks, ["floor_level", "animals", "temperature", "outflow_gas", "surface"]);
  await round.append([draft]);
  const state = round.stateOf(stop);
  assert.equal(state.lookDone, true);
  assert.equal(state.asItWas, false);
  assert.equal(state.looks.get("drop_checker").how, "different");
});

test("a number read within its range is no difference; one outside is", async () => {
  const { round, pack } = await aRound();
  for (const [code, value, asItWas] of [["T12", "24.1", true], ["T13", "28.4", false]]) {
    const stop = at(pack, code);
    await round.append([check.reading(stop, "temperature", { value, number: Number(value), text: value, limit: "" }, { unit: "°C", look: "temperature", asked: false })]);
    await round.append(looked(round, stop));
    assert.equal(round.stateOf(stop).asItWas, asItWas, code);
  }
});

test("a dead animal keeps the look at the animals from being as it should be", async () => {
  const { round, pack } = await aRound();
  const stop = at(pack, "T12");
  await round.append([{ kind: "animal", stop_id: stop.id, body: { what: "dead", batch: stop.batches[0].id, species_unsure: false, count: 1, text: null } }]);
  assert.equal(round.stateOf(stop).mark, "half");
  assert.ok(!looked(round, stop)[0].body.looks.includes("animals"));
});

test("an asked reading keeps the stop open until it is read or could not be", async () => {
  const { round, pack } = await aRound();
  const stop = at(pack, "T11");
  await round.append([...looked(round, stop), ...gave(stop)]);
  assert.equal(round.stateOf(stop).finished, false);
  await round.append([check.unable(stop, "temperature", "Instrument is missing or broken")]);
  assert.equal(round.stateOf(stop).finished, true);
});

test("undo takes back a whole tap, the last one, for ten minutes", async () => {
  const minutes = { now: 0 };
  const { round, pack } = await aRound({ minutes });
  const stop = at(pack, "T12");
  await round.append(looked(round, stop));
  await round.append(gave(stop));
  assert.deepEqual(round.undoable().entries.map((e) => e.kind), ["dose", "feed"]);
  await round.undo(round.undoable());
  assert.equal(round.stateOf(stop).dosesLeft.length, 1);
  assert.equal(round.stateOf(stop).lookDone, true);
  assert.equal(round.undoable().entries[0].kind, "check");
  minutes.now = 11;
  assert.equal(round.undoable(), null);
});

test("a page loaded again goes on from what the pack has, and counts nothing twice", async () => {
  const first = await aRound();
  const stop = at(first.pack, "T12");
  await first.round.append(looked(first.round, stop));
  const actions = (await first.store.ofRound(first.pack.round.id)).map((kept) => kept.action);
  const again = await aRound();
  const there = at(again.pack, "T12");
  there.entries = actions.filter((a) => a.stop_id === stop.id).map(({ action_id, kind, task_id, person_id, done_at, body }) => ({ action_id, kind, task_id, person_id, done_at, body }));
  await again.round.refresh();
  assert.equal(again.round.stateOf(there).lookDone, true);
  assert.equal(again.round.undoable().stop.tank, "T12");
  assert.equal(stopState(there, [...there.entries, ...there.entries]).entries.length, 1);
});

test("a store that cannot write shows nothing as done", async () => {
  const { round, pack, store } = await aRound();
  const stop = at(pack, "T12");
  store.append = async () => {
    throw new Error("QuotaExceededError");
  };
  await assert.rejects(round.append(looked(round, stop)));
  assert.equal(round.canKeep, false);
  assert.equal(round.stateOf(stop).mark, "to_do");
});

test("all skipped is struck through; one skipped and one given is done", async () => {
  const { round, pack } = await aRound();
  const reason = pack.reasons.find((r) => r.code === "short_of_time");
  const all = at(pack, "T06");
  await round.append(all.tasks.map((task) => skipping.draft(all, task, reason, skipping.NO_ANSWER)));
  assert.equal(round.stateOf(all).mark, "skipped");
  const some = at(pack, "T07");
  await round.append(looked(round, some));
  await round.append([skipping.draft(some, taskOf(some, "dose"), reason, skipping.NO_ANSWER), feeding.draft(some, some.feeds[0], some.feeds[0].planned_mg, null)]);
  assert.equal(round.stateOf(some).mark, "done");
});

test("own tools come before every other look where the tank is flagged", () => {
  const pack = example();
  const stop = { ...at(pack, "T12"), own_tools: true };
  assert.equal(looksOf(stop)[0].look, "own_tools");
  assert.ok(stopState(stop, []).looksLeft.some((look) => look.look === "own_tools"));
});

test("a pack of another version is refused with words", () => {
  assert.throws(() => readPack({ schema: 2, stops: [], tanks: [] }), /another version/);
});

test("every one of the twelve reasons says what it needs and what follows", () => {
  const pack = example();
  const read = { day: (d) => d, person: () => "Odile Marsh" };
  assert.equal(pack.reasons.length, 12);
  for (const reason of pack.reasons) {
    const empty = skipping.missing(reason, skipping.NO_ANSWER);
    assert.equal(empty === null, reason.asks === null, reason.code);
    const full = { text: "seen", until: reason.asks === "hour" ? "2026-03-12T14:00" : "2026-03-14", links: "x" };
    assert.equal(skipping.missing(reason, full), null, reason.code);
    assert.ok(skipping.result(reason, full, read).length > 3, reason.code);
  }
  const rest = pack.reasons.find((r) => r.code === "animals_rest");
  assert.equal(skipping.result(rest, { text: "", until: "2026-03-14", links: null }, read), "rests until 2026-03-14");
  assert.match(skipping.missing(rest, { text: "x".repeat(501), until: "2026-03-14", links: null }), /500/);
});

test("a tank that is called empty though animals live in it is asked about before it is kept", () => {
  const pack = example();
  const reason = pack.reasons.find((one) => one.code === "tank_empty");
  const full = { ...pack.stops.find((stop) => stop.tank && stop.empty_day === null), batches: [{ id: "a", name: "shrimp", count: 8 }, { id: "b", name: "tetra", count: null }] };
  assert.match(skipping.notEmpty(reason, full), /8 animals live here.*a person looks at it/);
  assert.match(skipping.notEmpty(reason, { ...full, batches: [] }), /a layout stands here/);
  assert.equal(skipping.notEmpty(reason, { ...full, empty_day: 12 }), null);
  assert.equal(skipping.notEmpty(pack.reasons.find((one) => one.code === "danger"), full), null);
});

test("already done points at an entry, or claims who and when; words alone do not do", () => {
  const pack = example();
  const reason = pack.reasons.find((r) => r.asks === "entry");
  const stop = at(pack, "T11");
  const answer = (claim) => ({ text: "", until: null, links: null, claim });
  assert.match(skipping.missing(reason, { ...skipping.NO_ANSWER, text: "Odile, at seven" }), /who did it/);
  assert.match(skipping.missing(reason, answer({ person: "odile", name: null, at: "" })), /what time/);
  assert.equal(skipping.missing(reason, answer({ person: null, name: " Odile ", at: "2026-03-12T07:00" })), null);
  const said = skipping.draft(stop, stop.tasks[0], reason, answer({ person: null, name: " Odile ", at: "2026-03-12T07:00" }));
  assert.deepEqual(said.body.claim, { person: null, name: "Odile", at: "2026-03-12T07:00" });
  const linked = skipping.draft(stop, stop.tasks[0], reason, { ...answer({ person: "odile", name: null, at: "" }), links: "an entry" });
  assert.equal(linked.body.claim, undefined);
  const day = { business_date: "2026-03-12", cut_off_hour: 4 };
  assert.equal(skipping.hourOfDay("07:00", day), "2026-03-12T07:00");
  assert.equal(skipping.hourOfDay("00:20", day), "2026-03-13T00:20", "after midnight it is still this business day");
  assert.equal(skipping.hourOfDay("", day), "");
});

test("names of the catalogue read inside a sentence", () => {
  const json = JSON.parse(readFileSync(new URL("./pack.example.json", import.meta.url)));
  const stop = json.stops[0];
  stop.tasks = [{ ...stop.tasks[0], code: "feed", name: "Feed" }, { ...stop.tasks[0], code: "water_change", name: "Water change" }];
  json.products = { a: { name: "Complete fertiliser" }, b: { name: "CO2" } };
  const pack = readPack(json);
  assert.deepEqual(pack.stops[0].tasks.map((task) => task.name), ["the food", "water change"]);
  assert.deepEqual(Object.values(pack.products).map((product) => product.name), ["complete fertiliser", "CO2"]);
});

test("a stop of which nothing is asked is passed, and is never shown as done", async () => {
  const { round, pack } = await aRound();
  const stop = at(pack, "T12");
  Object.assign(stop, { tasks: [], looks: [], readings: [], doses: [], feeds: [] });
  await round.refresh();
  assert.equal(round.stateOf(stop).finished, true);
  assert.equal(round.stateOf(stop).mark, "to_do");
});

test("a walk of twenty is shown whole, of two hundred the part around the tank in hand", () => {
  const twenty = example().tanks;
  assert.deepEqual(inSight(twenty, 10), [0, 20]);
  const many = Array.from({ length: 10 }, () => twenty).flat();
  for (const middle of [0, 3, 100, 199]) {
    const [from, to] = inSight(many, middle);
    assert.ok(from <= middle && middle < to && to - from >= 8, `${middle}: ${from} to ${to}`);
    const wide = many.slice(from, to).reduce((sum, tank) => sum + Math.max(52, tank.width_mm / 10) + 14, 0);
    assert.ok(wide <= 2400, `${middle}: ${wide}`);
  }
  for (const middle of [0, 10, 19]) {
    const [from, to] = inSight(twenty, middle, 900);
    const wide = twenty.slice(from, to).reduce((sum, tank) => sum + Math.max(52, tank.width_mm / 10) + 14, 0);
    assert.ok(from <= middle && middle < to && wide <= 900, `on a phone, ${middle}: ${from} to ${to}, ${wide}`);
  }
});

test("what was handed to a person is to do for that person, and what rests until an hour is to do from then on", () => {
  const pack = example();
  const stop = pack.stops.find((one) => one.tasks.some((task) => task.code === "look"));
  const look = stop.tasks.find((task) => task.code === "look");
  const skipped = (body) => [{ action_id: "1", kind: "skip", task_id: look.id, person_id: "bram", done_at: "2026-03-12T08:00:00Z", body: { task: look.id, until: null, links: null, ...body } }];
  const left = (entries, person_id, hour) => stopState(stop, entries, undefined, false, { person_id, hour }).looksLeft.length > 0;
  const handed = skipped({ reason: "needs_skill", links: "runa" });
  assert.deepEqual(["bram", "odile", "runa"].map((person) => left(handed, person, "2026-03-12T08:08")), [false, false, true]);
  const event = skipped({ reason: "event", until: "2026-03-12T14:00" });
  assert.deepEqual(["13:59", "14:00", "15:30"].map((hour) => left(event, "bram", `2026-03-12T${hour}`)), [false, true, true]);
  assert.equal(left(skipped({ reason: "animals_rest", until: "2026-03-13" }), "bram", "2026-03-12T23:59"), false, "a day is another round");
  assert.equal(localHour("Europe/London")(new Date("2026-07-01T13:05:00Z")), "2026-07-01T14:05");
});

test("the last look answered by a number, or that could not be measured, completes the look; one of several does not", () => {
  const pack = example();
  const stop = pack.stops.find((one) => one.tasks.some((task) => task.code === "look") && one.looks.some((look) => look.look === "temperature"));
  const state = stopState(stop, []);
  const last = state.looksLeft.filter((look) => look.look === "temperature");
  const typed = { value: "24.1", text: "24,1", number: 24.1, limit: false };
  const number = check.reading(stop, "temperature", typed, { unit: "°C", look: "temperature", asked: false });
  const unable = check.unable(stop, "temperature", "Not reachable now");
  for (const draft of [number, unable]) {
    assert.deepEqual(check.withTask(stop, last, "temperature", draft).map((one) => one.kind), [draft.kind, "complete"]);
    assert.deepEqual(check.withTask(stop, state.looksLeft, "temperature", draft).length, 1);
    assert.deepEqual(check.withTask(stop, last, null, draft).length, 1, "an asked reading is no look");
  }
});

test("what could not be measured is answered with its reason: each look, the random reading, a test and the meter of a room", () => {
  const pack = example();
  const entry = (body) => ({ action_id: `u ${body.check}`, kind: "unable", task_id: null, person_id: "p", done_at: "2026-03-12T08:00:00Z", body });
  for (const stop of pack.stops.filter((one) => one.looks.length || one.readings.length)) {
    const looks = looksOf(stop).map((look) => look.look);
    const all = [...new Set([...looks, ...stop.readings.map((reading) => reading.parameter)])];
    const state = stopState(stop, all.map((what) => entry({ check: what, reason: "Not reachable now" })));
    assert.deepEqual([state.looksLeft.length, state.readingsLeft.length], [0, 0], stop.tank ?? stop.name);
    assert.equal(state.asItWas, false);
  }
});

test("a stop half done goes on with two of six, the third in front", () => {
  const pack = example();
  const stop = pack.stops.find((one) => looksOf(one).length >= 4);
  const [first, second, third] = looksOf(stop);
  const said = (look) => ({ action_id: look.look, kind: "unable", task_id: null, person_id: "p", done_at: "2026-03-12T08:00:00Z", body: { check: look.look, reason: "Not reachable now" } });
  const state = stopState({ ...stop, readings: [] }, [said(first), said(second)]);
  assert.deepEqual([state.looks.size, state.looksLeft[0].look, state.mark], [2, third.look, "half"]);
});
