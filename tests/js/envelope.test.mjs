// An action's name sorts by time, its wall clock carries the offset, its text is one for one content.
import assert from "node:assert/strict";
import { test } from "node:test";
import { canonical, envelopes, uuid7, wallClock } from "../../gallery_ops/web/static/web/js/outbox/envelope.js";

test("UUID version 7 of the standard's own example", () => {
  // Source: RFC 9562, appendix A.6: unix_ts_ms 0x017F22E279B0, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F.
  const random = Uint8Array.from([0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f]);
  assert.equal(uuid7(0x017f22e279b0, random), "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
});

test("later names sort after earlier ones", () => {
  const random = new Uint8Array(10).fill(0xff);
  const names = [0, 1, 255, 256, 1_773_302_400_000].map((ms) => uuid7(ms, random));
  assert.deepEqual([...names].sort(), names);
});

test("the wall clock is written with its offset on both sides of Greenwich", () => {
  const at = new Date("2026-03-12T07:58:01.250Z");
  assert.equal(wallClock(at, 0), "2026-03-12T07:58:01.250+00:00");
  assert.equal(wallClock(at, -60), "2026-03-12T08:58:01.250+01:00");
  assert.equal(wallClock(at, 210), "2026-03-12T04:28:01.250-03:30");
  for (const offset of [0, -60, 210]) assert.equal(new Date(wallClock(at, offset)).getTime(), at.getTime());
});

test("one content has one text whatever the order of its keys", () => {
  assert.equal(canonical({ b: [1, { z: null, a: "ü" }], a: true }), '{"a":true,"b":[1,{"a":"ü","z":null}]}');
  assert.equal(canonical({ a: undefined, b: 1 }), '{"b":1}');
});

test("entries of one tap share their moment and have names of their own", () => {
  const context = { device_id: "d", round_id: "r", person_id: "p", person_proof: "pin", boot_id: "b" };
  const drafts = [
    { kind: "dose", stop_id: "s", task_id: "t", plan_version: "v", body: { given_ul: 1 } },
    { kind: "feed", stop_id: "s", body: {} },
  ];
  const [dose, feed] = envelopes(drafts, context, { now: () => new Date("2026-03-12T08:00:00Z"), monotonic: () => 12.9 });
  assert.equal(dose.done_at, feed.done_at);
  assert.notEqual(dose.action_id, feed.action_id);
  assert.equal(dose.monotonic_ms, 12);
  assert.equal(feed.task_id, null);
  assert.equal("seq" in dose, false);
});

test("the nights of the change: each moment carries the offset that held then", () => {
  // Source: IANA time zone database, Europe/London 2026: 29 March and 25 October, 01:00 UTC.
  const before = process.env.TZ;
  process.env.TZ = "Europe/London";
  try {
    const said = ["2026-03-29T00:59:59Z", "2026-03-29T01:00:00Z", "2026-10-25T00:30:00Z", "2026-10-25T01:30:00Z"].map((at) => wallClock(new Date(at)));
    assert.deepEqual(said, ["2026-03-29T00:59:59.000+00:00", "2026-03-29T02:00:00.000+01:00", "2026-10-25T01:30:00.000+01:00", "2026-10-25T01:30:00.000+00:00"]);
  } finally {
    if (before === undefined) delete process.env.TZ;
    else process.env.TZ = before;
  }
});
