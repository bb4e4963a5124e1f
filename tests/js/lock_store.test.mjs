// What the lock keeps, on a tablet without room: the page goes on, and keeps again once there is room.

import assert from "node:assert/strict";
import { test } from "node:test";

import { memoryStore, withoutRoom } from "../../gallery_ops/web/static/web/js/round/lock_store.js";

test("a full tablet stops nobody: this page goes on from memory until there is room", async () => {
  const kept = memoryStore();
  let isFull = false;
  const store = withoutRoom({
    get: kept.get,
    put: async (key, value) => {
      if (isFull) throw new DOMException("no room", "QuotaExceededError");
      await kept.put(key, value);
    },
  });
  await store.put("tries", 1);
  isFull = true;
  await store.put("tries", 2);
  await store.put("tries", 3);
  assert.equal(await store.get("tries"), 3, "the wrong tries go on counting");
  assert.equal(await kept.get("tries"), 1);
  isFull = false;
  await store.put("tries", 4);
  assert.equal(await kept.get("tries"), 4);
  await kept.put("tries", 0); // as another page of the tablet writes it
  assert.equal(await store.get("tries"), 0, "what is kept counts again");
});
