// An emergency on the tablet: the same from any order of taps, what it stops, and the walk past it.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { openStore } from "../../gallery_ops/web/static/web/js/outbox/store.js";
import { elapsed, emergencyOf, holdsTank, placeWords, stopsWhere } from "../../gallery_ops/web/static/web/js/round/emergencies.js";
import * as check from "../../gallery_ops/web/static/web/js/round/kinds/check.js";
import { draftsOf } from "../../gallery_ops/web/static/web/js/parts/card_deeds.js";
import * as incident from "../../gallery_ops/web/static/web/js/round/kinds/incident.js";
import { readPack, taskOf } from "../../gallery_ops/web/static/web/js/round/pack.js";
import { Round } from "../../gallery_ops/web/static/web/js/round/round.js";

const ROOMS = [{ id: "north", name: "North Room", tanks: ["T11", "T12"], hanging: [] }];
const WHICH = { id: "01956c3e-0000-7000-8000-000000000001", card: "gasping", drill: false };
const tap = (action_id, at, kind, more = {}) => ({ action_id, kind, line: null, text: "", place: null, at: `2026-03-12T08:06:${at}Z`, by: "Bram", ...more });

const TAPS = [
  tap("a", "31", "opened"),
  tap("b", "36", "place", { place: { kind: "tank", key: "T11" } }),
  tap("c", "40", "done", { line: 1 }),
  tap("d", "41", "out", { line: 3, text: "Odile" }),
  tap("e", "44", "rung", { text: "112" }),
  tap("f", "45", "done", { line: 1, by: "Odile" }),
  tap("g", "50", "over", { text: "Maud" }),
  tap("h", "55", "place", { place: { kind: "room", key: "north" } }),
];

test("in any order and with any tap twice it tells the same", () => {
  const told = emergencyOf(WHICH, TAPS);
  let seed = 12;
  const draw = () => (seed = (seed * 1103515245 + 12345) % 2 ** 31) / 2 ** 31;
  for (let i = 0; i < 50; i += 1) {
    const mixed = [...TAPS, ...TAPS.filter(() => draw() < 0.4)].map((one) => [draw(), one]).sort((a, b) => a[0] - b[0]).map(([, one]) => one);
    assert.deepEqual(emergencyOf(WHICH, mixed), told);
  }
  assert.equal(told.openedAt, TAPS[0].at);
  assert.equal(told.by, "Bram");
  assert.equal(told.lines.get(1), TAPS[2].at);
  assert.equal(told.closedAt, TAPS[6].at);
  assert.deepEqual(told.place, { kind: "room", key: "north" });
});

test("what rests follows from card and place, and a drill stops nothing", () => {
  const open = { ...emergencyOf(WHICH, TAPS.slice(0, 1)) };
  const placed = { ...open, place: { kind: "room", key: "north" } };
  assert.equal(stopsWhere(open, "tank"), null);
  assert.deepEqual(stopsWhere(open, "gallery"), { kind: "gallery", key: null });
  assert.equal(stopsWhere(placed, "nothing"), null);
  assert.equal(stopsWhere({ ...placed, drill: true }, "tank"), null);
  assert.equal(stopsWhere(emergencyOf(WHICH, TAPS), "tank"), null);
  const where = stopsWhere(placed, "tank");
  assert.deepEqual(["T11", "T13", null].map((code) => holdsTank(where, code, ROOMS)), [true, false, false]);
  assert.equal(placeWords(where, ROOMS), "North Room");
});

test("a clock of minutes and seconds", () => {
  assert.deepEqual([134_000, 0, -5, 3_734_999].map(elapsed), ["2:14", "0:00", "0:00", "1:02:14"]);
});

test("a press on a card's page becomes the entries that a tablet sends; the first opens it", () => {
  const first = draftsOf(WHICH, { deed: "line:3" }, false);
  assert.deepEqual(first.map((draft) => draft.kind), ["incident_open", "incident_step"]);
  assert.equal(first[1].body.line, 3);
  const one = (given) => draftsOf(WHICH, given, true)?.[0].body;
  assert.equal(one({ deed: "ring:01632 960 104" }).text, "01632 960 104");
  assert.deepEqual(one({ deed: "place", place: "tank:T11" }).place, { kind: "tank", key: "T11" });
  assert.deepEqual(one({ deed: "place", place: "gallery" }).place, { kind: "gallery", key: null });
  assert.equal(one({ deed: "over", decided_by: " Maud " }).decided_by, "Maud");
  assert.equal(one({ deed: "nothing" }).how, "nothing");
  for (const given of [{ deed: "over" }, { deed: "write", text: " " }, { deed: "place", place: "" }, { deed: "other" }]) assert.equal(draftsOf(WHICH, given, true), null);
});

async function aRound() {
  const pack = readPack(JSON.parse(readFileSync(new URL("./pack.example.json", import.meta.url))));
  pack.cards = [{ code: "gasping", title: "Animals gasping", first: "Gas off.", lines: ["Out", "Gas off"], address: "", stops: "tank" }];
  pack.emergency = { ring: { name: "", number: "112" }, at_work: [], rooms: [{ id: "north", name: "North Room", tanks: ["T11", "T12"], hanging: [] }], open: [] };
  const store = await openStore({ deviceId: "tablet-1", nextSeq: 1 });
  let ms = Date.parse("2026-03-12T08:00:00Z");
  const context = { device_id: "tablet-1", round_id: pack.round.id, person_id: pack.you.person, person_proof: "pin", boot_id: "b" };
  const round = new Round({ pack, store, context, clock: { now: () => new Date((ms += 1000)), monotonic: () => 0 } });
  await round.refresh();
  return { pack, round, store };
}

test("giving rests at its tank, the walk goes on, and it comes back when it is over", async () => {
  const { pack, round } = await aRound();
  const stop = pack.stops.find((one) => one.tank === "T11");
  stop.readings = [];
  assert.ok(round.stateOf(stop).dosesLeft.length + round.stateOf(stop).feedsLeft.length > 0);
  await round.append([incident.open(WHICH), incident.step(WHICH, "place", { place: { kind: "tank", key: "T11" } })]);
  assert.equal(round.isOpen, false, "a card does not open the round");
  assert.equal(round.stoppedAt(stop)?.id, WHICH.id);
  assert.equal(round.stoppedAt(pack.stops.find((one) => one.tank === "T12")), null);
  await round.append([check.allNormal(stop, round.stateOf(stop).looksLeft.map((l) => l.look), taskOf(stop, "look").id)]);
  assert.equal(round.stateOf(stop).finished, true);
  assert.equal(round.stateOf(stop).mark, "half");
  await round.append([incident.close(WHICH, "Maud")]);
  assert.equal(round.stoppedAt(stop), null);
  assert.equal(round.stateOf(stop).finished, false);
});

test("what another tablet opened is heard, joined with what was tapped here, and not doubled", async () => {
  const { pack, round, store } = await aRound();
  const stop = pack.stops.find((one) => one.tank === "T12");
  const place = { kind: "room", key: "north" };
  const open = [{ ...WHICH, taps: [tap("a", "31", "opened", { by: "Odile", place })] }];
  await round.hear(open, round.told());
  assert.equal(round.stoppedAt(stop)?.by, "Odile");
  await round.append([incident.step(WHICH, "done", { line: 2 })]);
  const mine = round.emergencies[0].taps.at(-1);
  await round.hear([{ ...WHICH, taps: [...open[0].taps, mine] }], round.told());
  assert.equal(round.emergencies.length, 1);
  assert.equal(round.emergencies[0].taps.length, 2);
  await round.hear([], round.told());
  assert.equal(round.emergencies.length, 1, "what waits here is not forgotten");
  await store.settle(round.log.map(({ action }) => ({ action_id: action.action_id, verdict: "accepted" })));
  await round.refresh();
  await round.hear([], round.told());
  assert.equal(round.stoppedAt(stop), null, "closed on another tablet, it is over here too");
});
