// How far the clock is off outlives the page that measured it.
import assert from "node:assert/strict";
import { test } from "node:test";
import { keptClock, stillHolds } from "../../gallery_ops/web/static/web/js/outbox/clock_kept.js";
import { Sender } from "../../gallery_ops/web/static/web/js/outbox/sender.js";
import { Store } from "../../gallery_ops/web/static/web/js/outbox/store.js";
import { memoryStore } from "../../gallery_ops/web/static/web/js/round/lock_store.js";

const SLOW_MS = 3 * 3_600_000;

function aTablet() {
  const kept = memoryStore();
  const written = [];
  const counting = { get: kept.get, put: (key, value) => (written.push(value), kept.put(key, value)) };
  const tablet = { at: Date.parse("2026-03-12T05:00:00Z"), written };
  tablet.now = () => new Date(tablet.at);
  tablet.open = () => keptClock(counting, "clock t", tablet.now);
  return tablet;
}

test("what was measured is known to the next page, until the clock is set back behind it", async () => {
  const tablet = aTablet();
  const first = await tablet.open();
  assert.equal(first.offsetMs, null);
  await first.keep(SLOW_MS);
  tablet.at += 3_600_000;
  assert.equal((await tablet.open()).offsetMs, SLOW_MS);
  tablet.at -= 7_200_000;
  assert.equal((await tablet.open()).offsetMs, null);
  assert.equal(stillHolds(undefined, tablet.now()), null);
});

test("the same is written once in ten minutes, another figure at once", async () => {
  const tablet = aTablet();
  const { keep } = await tablet.open();
  for (const [ms, later] of [[SLOW_MS, 0], [SLOW_MS + 900, 60_000], [SLOW_MS - 900, 60_000]]) {
    tablet.at += later;
    await keep(ms);
  }
  assert.equal(tablet.written.length, 1);
  await keep(SLOW_MS + 5_000);
  assert.equal(tablet.written.length, 2);
  tablet.at += 600_000;
  await keep(SLOW_MS + 5_000);
  assert.equal(tablet.written.length, 3);
});

test("a sender begins with what was kept and keeps what it measures", async () => {
  const noted = [];
  const world = { now: () => new Date("2026-03-12T05:00:00Z"), monotonic: () => 0, random: () => 0, later: () => 0, never: () => null, locks: null, fetch: async () => new Response(JSON.stringify({ epoch: "one", server_time: "2026-03-12T08:00:00Z", received_up_to: 0, missing: [], verdicts: [] })) };
  const sender = new Sender({ store: new Store({ nextSeq: 1 }), address: "/o", headers: {}, deviceId: "t", bootId: "b", epoch: "one", offsetMs: 60_000, keepOffset: async (ms) => void noted.push(ms), world });
  assert.deepEqual([sender.offsetMs, sender.lastAnswer], [60_000, null]);
  await sender.ask();
  assert.deepEqual([sender.offsetMs, noted], [SLOW_MS, [SLOW_MS]]);
});
