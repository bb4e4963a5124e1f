// The bottle in the hand: what is read from its label, and which tank it may feed.

import assert from "node:assert/strict";
import test from "node:test";

import * as bottle from "../../gallery_ops/web/static/web/js/round/kinds/bottle.js";
import * as dosing from "../../gallery_ops/web/static/web/js/round/kinds/dose.js";

// Both codes carry the check character that gallery_ops.kernel.values.codes works out.
const RIGHT = "22222222";
const OTHER = "3333333W";

const dose = { task: "t", product: "p", source: null, plan_version: "v", tool: /** @type {"pump"} */ ("pump"), planned_ul: 2000, presses: 2, per_press_ul: 924, measured_on: null, bottle: { code: RIGHT, name: "Bottle of zone A" }, given_today: [] };

test("a code is read as typed by hand, by a reader of labels, and from an address", () => {
  for (const text of [RIGHT, "2222-2222", " 2222 2222 ", "https://gallery.test/containers/22222222/"]) assert.equal(bottle.codeIn(text), RIGHT);
});

test("one wrong character, two exchanged, or no code at all are no code", () => {
  for (const text of ["", "22222223", "3333333X", "W3333333", "0OIL2222", "2222222", "https://gallery.test/containers/"]) assert.equal(bottle.codeIn(text), null);
});

test("another bottle is a stop, the right one and none are not", () => {
  assert.equal(bottle.stops(dose, RIGHT, "T11"), null);
  assert.equal(bottle.stops(dose, undefined, "T11"), null);
  assert.equal(bottle.stops(dose, OTHER, "T11"), "3333-333W does not feed T11: Bottle of zone A, 2222-2222, feeds it.");
  assert.equal(bottle.stops({ ...dose, bottle: null }, OTHER, "T11"), "3333-333W does not feed T11: no bottle is connected to it.");
});

test("the entry names the bottle only when its label was read", () => {
  const stop = /** @type {any} */ ({ id: "s" });
  assert.equal(dosing.draft(stop, dose, dosing.planned(dose), null, RIGHT).body.bottle, RIGHT);
  assert.ok(!("bottle" in dosing.draft(stop, dose, dosing.planned(dose), null).body));
});

test("fewer presses finish the bottle only when it is said to be empty; else that is all, with a reason", () => {
  const stop = /** @type {any} */ ({ id: "s" });
  const one = dosing.pressed(dose, 1);
  const empty = dosing.draft(stop, dose, one, null, undefined, "").body;
  assert.deepEqual([empty.short, empty.empty, "less" in empty], ["bottle_empty", RIGHT, false]);
  const all = dosing.draft(stop, dose, one, null, undefined, "The manager said so").body;
  assert.deepEqual([all.short, all.less, "empty" in all], ["less", "The manager said so", false]);
  assert.equal(dosing.draft(stop, dose, dosing.planned(dose), null, undefined, "of another count").body.short, null);
  assert.equal(dosing.isFewer({ ...dose, tool: "cup", presses: null }, dosing.measured(10, "0.01")), false, "a cup is no pump");
});
