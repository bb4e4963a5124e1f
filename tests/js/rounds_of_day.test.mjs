// Midday and closing on the tablet: a word is judged by its look and its hour, rooms are passed by their door.
// Two hours after the gas: common practice, no source.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import * as check from "../../gallery_ops/web/static/web/js/round/kinds/check.js";
import { readPack } from "../../gallery_ops/web/static/web/js/round/pack.js";
import { stopState } from "../../gallery_ops/web/static/web/js/round/state.js";
import { placesOf } from "../../gallery_ops/web/static/web/js/round/walk.js";

const example = () => readPack(JSON.parse(readFileSync(new URL("./pack.example.json", import.meta.url))));
const at = (clock) => `2026-03-12T${clock}:00Z`;

function seen(pack, stop, word, clock) {
  const option = pack.parameters.drop_checker.options.find((o) => o.code === word);
  const draft = check.chosen(stop, "drop_checker", option, "drop_checker");
  const entry = { ...draft, action_id: word, task_id: null, person_id: "p", done_at: at(clock) };
  return stopState(stop, [entry], check.alarmed(pack, stop)).looks.get("drop_checker").how;
}

test("before ten a drop checker's word is kept and not judged, but for too much gas", () => {
  const pack = example();
  const stop = pack.stops.find((s) => s.tank === "T12");
  for (const word of ["blue", "blue_green", "green", "lime"]) assert.equal(seen(pack, stop, word, "07:58"), "read", word);
  assert.equal(seen(pack, stop, "yellow", "07:58"), "different");
});

test("from ten on green is right, and blue is not any more", () => {
  const pack = example();
  const stop = pack.stops.find((s) => s.tank === "T12");
  const found = Object.fromEntries(["blue", "blue_green", "green", "lime", "yellow"].map((word) => [word, seen(pack, stop, word, "10:00")]));
  assert.deepEqual(found, { blue: "different", blue_green: "read", green: "read", lime: "read", yellow: "different" });
  assert.equal(seen(pack, stop, "blue", "09:59"), "read");
});

test("a word that is as it should be makes no difference; the next one does", () => {
  const pack = example();
  const stop = pack.stops.find((s) => s.tank === "T12");
  for (const [parameter, word, look, differs] of [["floor", "dry", "floor_level", false], ["floor", "damp", "floor_level", true], ["outflow", "strong", "outflow_gas", false], ["outflow", "weaker", "outflow_gas", true]]) {
    const option = pack.parameters[parameter].options.find((o) => o.code === word);
    const entry = { ...check.chosen(stop, parameter, option, look), action_id: word, task_id: null, person_id: "p", done_at: at("08:00") };
    const how = stopState(stop, [entry], check.alarmed(pack, stop)).looks.get(look).how;
    assert.equal(how, differs ? "different" : "read", word);
  }
});

test("a look told in words is different, a count of heads is not by itself", () => {
  const pack = example();
  const stop = pack.stops.find((s) => s.tank === "T12");
  const told = { ...check.inWords(stop, "surface", "film on the surface"), action_id: "1", task_id: null, person_id: "p", done_at: at("08:00") };
  const rest = { ...check.allNormal(stop, stop.looks.map((look) => look.look).filter((look) => look !== "surface"), null), action_id: "2", person_id: "p", done_at: at("08:01") };
  const state = stopState(stop, [told, rest], check.alarmed(pack, stop));
  assert.deepEqual([state.looks.get("surface").how, state.asItWas], ["different", false]);
  const heads = { ...check.counted(stop, "animals", [{ batch: "b", count: 3 }], false), action_id: "3", task_id: null, person_id: "p", done_at: at("08:02") };
  assert.equal(stopState(stop, [heads], check.alarmed(pack, stop)).looks.get("animals").how, "read");
});

test("a tap carries the name of its own round", () => {
  const [stop] = example().stops;
  assert.equal(check.allNormal(stop, ["animals"], "t").body.check, "opening_look");
  assert.equal(check.allNormal({ ...stop, check: "midday_look" }, ["animals"], "t").body.check, "midday_look");
});

test("a room stands behind its last tank on the walk, and its meter is part of its stop", () => {
  const pack = example();
  const door = { id: "door-1", tank: null, name: "Stair Hall", empty_day: null, own_tools: false, since: [], tasks: [{ id: "look-1", code: "look", name: "the look", harm: "A", skill: "C1", late_from: null, skipped_last: null }], check: "closing_look", looks: [{ look: "room_floor", expect: "dry", last: null }], readings: [{ parameter: "room_co2", why: "each_round", task: "air-1", last: null }], batches: [], doses: [], feeds: [], entries: [] };
  pack.stops.splice(4, 0, door);
  const places = placesOf(pack).map((place) => place.code);
  assert.deepEqual(places.slice(2, 6), ["T03", "T04", "Stair Hall", "T05"]);
  assert.equal(places.length, pack.tanks.length + 1);
  const look = { ...check.allNormal(door, ["room_floor"], "look-1"), action_id: "1", person_id: "p", done_at: at("18:20") };
  const half = stopState(door, [look], check.alarmed(pack, door));
  assert.deepEqual([half.lookDone, half.finished, half.mark], [true, false, "half"]);
  const read = { ...check.reading(door, "room_co2", { value: "540", text: "540", number: 540, limit: "" }, { unit: "ppm", look: null, asked: false, task: "air-1" }), action_id: "2", person_id: "p", done_at: at("18:21") };
  const whole = stopState(door, [look, read], check.alarmed(pack, door));
  assert.deepEqual([whole.finished, whole.asItWas, whole.mark], [true, true, "done"]);
});
