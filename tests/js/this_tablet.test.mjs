// What a tablet says of itself at enrolment, played for each kind of browser.
import assert from "node:assert/strict";
import { test } from "node:test";
import { readTablet, tabletRows } from "../../gallery_ops/web/static/web/js/parts/this_tablet.js";

const GB = 1e9;

/** A browser window with everything, in which single parts are exchanged. */
function world({ secure = true, shown = "standalone", persisted = true, persist = true, quota = 10 * GB, usage = 0, worker = true, folder = true, database = true, estimates = true } = {}) {
  let asked = 0;
  const open = () => {
    const request = { result: { close() {} } };
    queueMicrotask(() => (database ? request.onsuccess() : request.onerror()));
    return request;
  };
  return {
    isSecureContext: secure,
    matchMedia: (query) => ({ matches: query === `(display-mode: ${shown})` }),
    indexedDB: database === "throws" ? null : { open, deleteDatabase() {} },
    navigator: {
      serviceWorker: worker ? {} : undefined,
      storage: secure && {
        persisted: async () => persisted,
        persist: async () => ((asked += 1), persist),
        estimate: async () => (estimates ? { quota, usage } : Promise.reject(new Error("no"))),
        getDirectory: async () => (folder ? {} : Promise.reject(new Error("SecurityError"))),
      },
    },
    asked: () => asked,
  };
}

const answers = (tablet, asked = true) => tabletRows(tablet, asked).map((row) => row.answer);

test("a tablet on which the gallery stands on the first screen keeps everything", async () => {
  const tablet = await readTablet(world({ usage: 2 * GB }), false);
  assert.deepEqual(tablet, { secure: true, installed: true, forgets: false, stays: true, free: 8 * GB });
  assert.deepEqual(answers(tablet), ["yes", "yes", "yes", "8 GB"]);
  assert.ok(tabletRows(tablet, true).every((row) => row.well && !row.help));
});

test("durable storage is asked for when wanted, and not when it was promised before", async () => {
  const fresh = world({ persisted: false });
  assert.equal((await readTablet(fresh, false)).stays, false);
  assert.equal(fresh.asked(), 0);
  assert.equal((await readTablet(fresh, true)).stays, true);
  assert.equal(fresh.asked(), 1);
  const had = world();
  await readTablet(had, true);
  assert.equal(had.asked(), 0);
});

test("what was not promised is said after asking, with what helps", async () => {
  const tablet = await readTablet(world({ persisted: false, persist: false, shown: "browser" }), true);
  assert.deepEqual(answers(tablet, false), ["yes", "no", "asked when you enrol it", "10 GB"]);
  assert.deepEqual(answers(tablet, true), ["yes", "no", "not promised", "10 GB"]);
  assert.match(tabletRows(tablet, true)[2].help, /not used for a week/);
});

for (const [what, parts] of Object.entries({
  "no worker": { worker: false },
  "no folder": { folder: false },
  "no database": { database: false },
  "a database that throws": { database: "throws" },
  "room that is not told": { estimates: false },
  "little room": { quota: 100e6 },
})) {
  test(`a window that forgets is recognised by ${what}`, async () => {
    const tablet = await readTablet(world(parts), false);
    assert.equal(tablet.forgets, true);
    assert.equal(answers(tablet)[0], "no");
  });
}

test("an older browser that cannot be asked is let in", async () => {
  const old = world();
  old.navigator.storage = undefined;
  const tablet = await readTablet(old, true);
  assert.deepEqual(tablet, { secure: true, installed: true, forgets: false, stays: null, free: null });
  assert.deepEqual(answers(tablet), ["yes", "yes", "cannot be asked", "not said"]);
});

test("plain http is no private window; it says how to get further", async () => {
  const tablet = await readTablet(world({ secure: false, worker: false, shown: "browser" }), true);
  assert.equal(tablet.forgets, false);
  const [first] = tabletRows(tablet, true);
  assert.equal(first.answer, "no");
  assert.match(first.help, /begins with https/);
});

test("a tablet without room says so", async () => {
  const [, , , room] = tabletRows(await readTablet(world({ quota: 5 * GB, usage: 4.96 * GB }), false), true);
  assert.deepEqual([room.answer, room.well], ["40 MB", false]);
  assert.match(room.help, /Make room/);
});
