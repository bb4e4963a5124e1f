// A new version of the pages waits for the round and the outbox.
import assert from "node:assert/strict";
import { test } from "node:test";
import { memoryStore } from "../../gallery_ops/web/static/web/js/round/lock_store.js";
import { LONGEST_ROUND_MS, busyAfter, lookForUpdate, mayUpdate, updateWords } from "../../gallery_ops/web/static/web/js/round/update.js";

const NOW = Date.parse("2026-03-12T08:00:00Z");
const page = (round, isOpen, waiting = 0, now = NOW) => ({ round, isOpen, waiting, now });

test("it takes over only when no round is open on any page and nothing waits", () => {
  const one = busyAfter(undefined, page("a", true));
  assert.equal(mayUpdate(one, NOW), false);
  const two = busyAfter(one, page("b", false));
  assert.equal(mayUpdate(two, NOW), false); // the other page walks on
  const closed = busyAfter(two, page("a", false, 3));
  assert.equal(mayUpdate(closed, NOW), false); // closed, but three wait
  assert.equal(mayUpdate(busyAfter(closed, page("a", false)), NOW), true);
});

test("a round that was left open counts no longer after twenty hours", () => {
  const busy = busyAfter(undefined, page("a", true));
  assert.equal(mayUpdate(busy, NOW + LONGEST_ROUND_MS - 1), false);
  assert.equal(mayUpdate(busy, NOW + LONGEST_ROUND_MS), true);
  assert.deepEqual(busyAfter(busy, page("b", false, 0, NOW + LONGEST_ROUND_MS)).rounds, {});
});

test("the outbox says that it waits, and for what", () => {
  const busy = (isOpen, waiting) => busyAfter(undefined, page("a", isOpen, waiting));
  assert.equal(updateWords(false, busy(true, 0), NOW), "");
  assert.match(updateWords(true, busy(true, 0), NOW), /waits until the round is closed\.$/);
  assert.match(updateWords(true, busy(true, 2), NOW), /closed and everything is sent/);
  assert.match(updateWords(true, busy(false, 0), NOW), /is being taken/);
});

test("two pages of one tablet: the second may not take it while the first walks", async () => {
  const store = memoryStore();
  const asked = [];
  const registration = { waiting: { postMessage: (what) => asked.push(what) } };
  await lookForUpdate({ store, registration, page: page("a", true) });
  assert.match(await lookForUpdate({ store, registration, page: page("b", false) }), /waits/);
  assert.deepEqual(asked, []);
  await lookForUpdate({ store, registration, page: page("a", false) });
  assert.deepEqual(asked, ["take over"]);
});
