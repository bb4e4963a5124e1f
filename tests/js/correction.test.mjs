// The bottle ran empty, or it was another tank: what is still to do, before the gallery has answered.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { amendDraft, correctedHere, moveDraft, numberOf } from "../../gallery_ops/web/static/web/js/round/kinds/correction.js";
import { stops } from "../../gallery_ops/web/static/web/js/round/kinds/bottle.js";
import { draft, planned, pressed, restOf } from "../../gallery_ops/web/static/web/js/round/kinds/dose.js";
import { holding, stopState } from "../../gallery_ops/web/static/web/js/round/state.js";

const pack = JSON.parse(readFileSync(new URL("pack.example.json", import.meta.url), "utf8"));
const stop = { ...pack.stops.find((one) => one.doses.some((dose) => dose.tool === "pump")), entries: [] };
const dose = { ...stop.doses.find((one) => one.tool === "pump"), presses: 3, planned_ul: 3000, per_press_ul: 1000, bottle: { code: "22222222", name: "A" }, next_bottle: { code: "33333333", name: "B" }, given_today: [] };
const here = { ...stop, doses: [dose], feeds: [] };
const entryOf = (made, action_id) => ({ ...made, action_id, person_id: "p", done_at: "2026-03-12T08:08:00Z" });

test("two of three presses leave one, from the next bottle, and are no second dose", () => {
  const first = draft(here, dose, pressed(dose, 2), null);
  assert.equal(first.body.short, "bottle_empty");
  assert.equal(first.body.empty, "22222222");
  const state = stopState(here, [entryOf(first, "a")]);
  assert.equal(state.tasks.has(dose.task), false);
  assert.equal(state.giveDone, false);
  const [rest] = state.dosesLeft;
  assert.equal(rest.presses, 1);
  assert.deepEqual([rest.gave.presses, rest.gave.ul], [2, first.body.given_ul]);
  assert.deepEqual(rest.given_today, []);
  const second = draft(here, rest, planned(rest), null);
  assert.deepEqual([second.body.rest_of, second.body.bottle, second.body.replaces, second.body.short], ["a", "33333333", "22222222", null]);
  assert.equal(stopState(here, [entryOf(first, "a"), entryOf(second, "b")]).giveDone, true);
});

test("the empty bottle and one past its date are a stop without a network", () => {
  const rest = restOf(dose, entryOf(draft(here, dose, pressed(dose, 2), null), "a"));
  assert.match(stops(rest, "22222222", "T01", "2026-03-12") ?? "", /ran empty/);
  const old = { ...dose, bottle: { ...dose.bottle, too_old_from: "2026-03-12" } };
  assert.match(stops(old, undefined, "T01", "2026-03-12") ?? "", /past its date/);
  assert.equal(stops(old, undefined, "T01", "2026-03-11"), null);
});

test("what was moved stands at the other tank only", () => {
  const given = entryOf(draft(here, dose, planned(dose), null), "a");
  const move = entryOf(moveDraft(here, given, "T99"), "m");
  assert.deepEqual(holding([given, move]), []);
  const there = { ...here, id: "there", tank: "T99", tasks: here.tasks.map((task) => ({ ...task, id: `${task.id} there` })) };
  const at = (entry, id) => ({ ...entry, stop_id: id });
  const log = [at(given, here.id), at(move, here.id)];
  const [moved] = correctedHere(there, [here, there], log);
  assert.equal(moved.kind, "dose");
  assert.equal(moved.task_id, `${dose.task} there`);
  assert.equal(moved.corrects, "a");
  assert.deepEqual(correctedHere(here, [here, there], log), []);

  const [again] = correctedHere(there, [here, there], [...log, at(entryOf(amendDraft(there, moved, { presses: 2 }, "Counted one too many"), "n"), "there")]).slice(-1);
  assert.deepEqual([again.body.presses, again.body.given_ul, again.corrects, again.task_id], [2, 2000, "m", moved.task_id]);
});

test("another number stands in place of the first, in the unit in which it was entered", () => {
  const given = { ...entryOf(draft(here, dose, planned(dose), null), "a"), stop_id: here.id };
  assert.deepEqual(numberOf(given), { field: "presses", unit: "presses", now: "3" });
  const amend = { ...entryOf(amendDraft(here, given, { presses: 2 }, "Counted one too many"), "m"), stop_id: here.id };
  const now = correctedHere(here, [here], [given, amend]);
  const state = stopState(here, [given, amend, ...now]);
  assert.deepEqual([state.tasks.get(dose.task).body.given_ul, state.giveDone], [2000, true]);
  const held = { ...amend, verdict: "held" };
  assert.equal(stopState(here, [given, held, ...correctedHere(here, [here], [given, held])]).tasks.get(dose.task).body.given_ul, 3000, "what waits for a person changes nothing");
});
