// Nothing is lost, nothing counts twice, nothing refused is thrown away: whatever the network does.
import assert from "node:assert/strict";
import { test } from "node:test";
import { envelopes } from "../../gallery_ops/web/static/web/js/outbox/envelope.js";
import { Sender, backOff, retryAfter } from "../../gallery_ops/web/static/web/js/outbox/sender.js";
import { openStore } from "../../gallery_ops/web/static/web/js/outbox/store.js";

const context = { device_id: "tablet-1", round_id: "r", person_id: "p", person_proof: "pin", boot_id: "b" };

/** A gallery that stores by action_id and answers as agreed. */
function gallery() {
  const stored = new Map();
  const say = (verdict) => (action) => ({ action_id: action.action_id, verdict });
  return {
    stored,
    epoch: "one",
    judge: say("accepted"),
    answer(body) {
      const verdicts = body.actions.map((action) => {
        const judged = this.judge(action);
        const known = stored.has(action.action_id);
        if (judged.verdict !== "malformed") stored.set(action.action_id, action);
        return known && judged.verdict === "accepted" ? { ...judged, verdict: "duplicate" } : judged;
      });
      const seqs = new Set([...stored.values()].map((action) => action.seq));
      let upTo = 0;
      while (seqs.has(upTo + 1)) upTo += 1;
      return { epoch: this.epoch, server_time: "2026-03-12T08:00:00Z", received_up_to: upTo, missing: [], verdicts };
    },
  };
}

async function setUp({ channel, count = 0, epoch = "one", deviceId = "tablet-1" } = {}) {
  const store = await openStore({ deviceId, nextSeq: 1 });
  const timers = [];
  let flying = 0;
  let most = 0;
  const seen = [];
  const world = {
    now: () => new Date("2026-03-12T08:00:00Z"),
    monotonic: () => 1000,
    random: () => 0,
    later: (f, ms) => timers.push({ f, ms }) - 1,
    never: (i) => i !== null && (timers[i] = null),
    locks: null,
    fetch: async (_address, request) => {
      flying += 1;
      most = Math.max(most, flying);
      const body = JSON.parse(request.body);
      seen.push(body);
      try {
        return await channel(body, request);
      } finally {
        flying -= 1;
      }
    },
  };
  const sender = new Sender({ store, address: "/api/v1/outbox", headers: {}, deviceId, bootId: "b", epoch, world });
  await enter(store, count);
  return { store, sender, timers, seen, mostFlying: () => most };
}

async function enter(store, count) {
  for (let i = 0; i < count; i += 1) {
    await store.append(envelopes([{ kind: "note", body: { text: `note ${i}` } }], context, { now: () => new Date(1_773_302_400_000 + i), monotonic: () => i }));
  }
}

const ok = (answer, headers = {}) => new Response(JSON.stringify(answer), { status: 200, headers });
const status = (code, headers = {}) => new Response("{}", { status: code, headers });

test("oldest first, at most a hundred a request, one request at a time", async () => {
  const house = gallery();
  const { store, sender, seen, mostFlying } = await setUp({ channel: async (body) => ok(house.answer(body)), count: 230 });
  await Promise.all([sender.send(), sender.send(), sender.tryNow()]);
  assert.deepEqual(seen.map((body) => body.actions.length), [100, 100, 30]);
  assert.deepEqual(seen.flatMap((body) => body.actions.map((a) => a.seq)), Array.from({ length: 230 }, (_, i) => i + 1));
  assert.equal(mostFlying(), 1);
  assert.equal((await store.counts()).waiting, 0);
  assert.equal(sender.state, "resting");
});

test("a full tablet that cannot note an answer asks again by itself, and nothing counts twice", async () => {
  const house = gallery();
  const { store, sender, timers, seen } = await setUp({ channel: async (body) => ok(house.answer(body)), count: 3 });
  const settle = store.settle.bind(store);
  store.settle = async () => {
    throw new DOMException("no room", "QuotaExceededError");
  };
  await sender.send();
  assert.equal(sender.state, "unnoted");
  assert.equal((await store.counts()).waiting, 3, "what could not be noted still waits");
  store.settle = settle;
  await timers.filter(Boolean).at(-1).f();
  for (let i = 0; i < 50 && (await store.counts()).waiting; i += 1) await new Promise((done) => setTimeout(done, 1));
  assert.equal((await store.counts()).waiting, 0);
  assert.equal(seen.length, 2);
  assert.equal(house.stored.size, 3, "the gallery has each once");
});

for (const [name, channel, state] of [
  ["no network", async () => { throw new TypeError("Failed to fetch"); }, "away"],
  ["401", async () => status(401), "sign_in"],
  ["403", async () => status(403), "sign_in"],
  ["400", async () => status(400), "stopped"],
  ["500", async () => status(500), "away"],
  ["503", async () => status(503), "away"],
  ["429", async () => status(429, { "Retry-After": "90" }), "away"],
  ["half an answer", async () => new Response('{"verdicts": [', { status: 200 }), "away"],
  ["an answer without verdicts", async () => ok({ epoch: "one" }), "away"],
  ["verdicts of others", async () => ok({ epoch: "one", received_up_to: 0, verdicts: [{ action_id: "x", verdict: "accepted" }] }), "away"],
]) {
  test(`${name}: everything is kept and tried again`, async () => {
    const { store, sender, timers } = await setUp({ channel, count: 3 });
    await sender.send();
    assert.equal((await store.counts()).waiting, 3);
    assert.equal(sender.state, state);
    const wait = timers.filter(Boolean).at(-1);
    assert.equal(wait.ms, name === "429" ? 90_000 : 2_000);
  });
}

test("an answer that got lost after the gallery stored it counts once", async () => {
  const house = gallery();
  let lose = true;
  const { store, sender } = await setUp({
    channel: async (body) => {
      const answer = house.answer(body);
      if (lose) {
        lose = false;
        throw new TypeError("lost on the way back");
      }
      return ok(answer);
    },
    count: 5,
  });
  await sender.send();
  assert.equal((await store.counts()).waiting, 5);
  await sender.tryNow();
  assert.equal((await store.counts()).waiting, 0);
  assert.equal(house.stored.size, 5);
  assert.deepEqual((await store.ofRound("r")).map((kept) => kept.verdict.verdict), Array(5).fill("duplicate"));
});

test("what is held or cannot be read stays in sight and blocks nothing", async () => {
  const house = gallery();
  const verdicts = { 2: "held", 3: "malformed", 4: "differs" };
  house.judge = (action) => ({ action_id: action.action_id, verdict: verdicts[action.seq] ?? "accepted", words: "why" });
  const { store, sender, seen } = await setUp({ channel: async (body) => ok(house.answer(body)), count: 5 });
  await sender.send();
  await sender.send();
  assert.deepEqual(await store.counts(), { waiting: 0, held: 1, unreadable: 2, oldest: null });
  assert.equal(seen.length, 1);
  assert.equal((await store.ofRound("r")).length, 5);
});

test("an entry that cannot be read leaves a gap, and is not offered for ever", async () => {
  const house = gallery();
  house.judge = (action) => ({ action_id: action.action_id, verdict: action.seq === 2 ? "malformed" : "accepted" });
  const { store, sender, seen } = await setUp({ channel: async (body) => ok(house.answer(body)), count: 4 });
  await sender.send();
  await enter(store, 1);
  await sender.send();
  await enter(store, 1);
  await sender.send();
  assert.equal((await store.counts()).waiting, 0);
  assert.ok(seen.length <= 4, `${seen.length} requests`);
});

test("entries made while a request flies are sent after it", async () => {
  const house = gallery();
  let during = true;
  const kit = await setUp({
    channel: async (body) => {
      if (during) {
        during = false;
        await enter(kit.store, 2);
      }
      return ok(house.answer(body));
    },
    count: 1,
  });
  await kit.sender.send();
  assert.equal(house.stored.size, 3);
});

test("413: the batch is halved until it fits", async () => {
  const house = gallery();
  const { store, sender, seen } = await setUp({ channel: async (body) => (body.actions.length > 20 ? status(413) : ok(house.answer(body))), count: 90 });
  await sender.send();
  assert.equal((await store.counts()).waiting, 0);
  assert.equal(house.stored.size, 90);
  assert.ok(seen[1].actions.length < seen[0].actions.length);
});

test("a gallery restored from last night is offered everything again", async () => {
  const house = gallery();
  const { store, sender } = await setUp({ channel: async (body) => ok(house.answer(body)), count: 4 });
  await sender.send();
  house.stored.clear();
  house.epoch = "two";
  await enter(store, 1);
  await sender.send();
  assert.equal(house.stored.size, 5);
  assert.equal(sender.offeredAgain, 5);
  assert.equal((await store.counts()).waiting, 0);
});

test("a gallery that lost its last commits says so by its count, and gets them again", async () => {
  const house = gallery();
  const { store, sender } = await setUp({ channel: async (body) => ok(house.answer(body)), count: 6 });
  await sender.send();
  for (const [id, action] of [...house.stored]) if (action.seq > 3) house.stored.delete(id);
  await enter(store, 1);
  await sender.send();
  assert.deepEqual([...house.stored.values()].map((a) => a.seq).sort(), [1, 2, 3, 4, 5, 6, 7]);
});

test("fast hands do not put the sending off", async () => {
  const { store, sender, timers } = await setUp({ channel: async () => status(500) });
  await enter(store, 1);
  sender.nudge();
  sender.nudge();
  sender.nudge();
  assert.equal(timers.filter(Boolean).length, 1);
});

test("another tab has the lock: this one waits and sends nothing", async () => {
  const { store, sender, seen, timers } = await setUp({ channel: async () => status(500), count: 1 });
  const world = { request: async (_name, _options, f) => f(null) };
  const other = new Sender({ store, address: "/", headers: {}, deviceId: "tablet-1", bootId: "b", epoch: "one", world: { fetch: async () => assert.fail("sent"), now: () => new Date(), monotonic: () => 0, random: () => 0, later: (f, ms) => timers.push({ f, ms }) - 1, never: () => null, locks: world } });
  await other.send();
  assert.equal(seen.length, 0);
  assert.equal((await store.counts()).waiting, 1);
  assert.ok(sender);
});

test("the wait doubles from two seconds to five minutes, less up to a half by chance", () => {
  assert.deepEqual([1, 2, 3, 8, 9, 30].map((n) => backOff(n, 0)), [2_000, 4_000, 8_000, 256_000, 300_000, 300_000]);
  assert.equal(backOff(3, 1), 4_000);
});

test("Retry-After as seconds and as a date", () => {
  // Source: RFC 9110, 10.2.3: delay-seconds or HTTP-date.
  const now = new Date("2026-03-12T08:00:00Z");
  assert.equal(retryAfter("120", now), 120_000);
  assert.equal(retryAfter("Thu, 12 Mar 2026 08:00:30 GMT", now), 30_000);
  assert.equal(retryAfter("soon", now), null);
  assert.equal(retryAfter(null, now), null);
});

test("a channel that loses, doubles and cuts at random: each entry once, none lost", async () => {
  for (let seed = 1; seed <= 40; seed += 1) {
    let x = seed;
    const chance = () => (x = (x * 16_807) % 2_147_483_647) / 2_147_483_647;
    const house = gallery();
    const kit = await setUp({
      channel: async (body) => {
        const luck = chance();
        if (luck < 0.25) throw new TypeError("lost going out");
        const answer = house.answer(body);
        if (luck < 0.4) throw new TypeError("lost coming back");
        if (luck < 0.5) house.answer(body);
        if (luck < 0.55) return status(500);
        if (luck < 0.6) answer.verdicts = answer.verdicts.slice(0, 1);
        return ok(answer);
      },
    });
    for (let i = 0; i < 12; i += 1) {
      await enter(kit.store, 1 + Math.floor(chance() * 4));
      await kit.sender.tryNow();
    }
    for (let i = 0; i < 60 && (await kit.store.counts()).waiting; i += 1) await kit.sender.tryNow();
    const entered = (await kit.store.ofRound("r")).map((kept) => kept.action.action_id);
    assert.deepEqual([...house.stored.keys()].sort(), entered.sort(), `seed ${seed}`);
    assert.equal((await kit.store.counts()).waiting, 0, `seed ${seed}`);
  }
});

test("another database is offered everything again, also when the page was opened after it came back", async () => {
  const house = gallery();
  const kit = await setUp({ channel: async (body) => ok(house.answer(body)) });
  await enter(kit.store, 3);
  await kit.sender.tryNow();
  assert.equal((await kit.store.counts()).waiting, 0);
  await kit.sender.meet("one", 3);
  assert.equal((await kit.store.counts()).waiting, 0);
  await kit.sender.meet("another", 0);
  assert.deepEqual([(await kit.store.counts()).waiting, kit.sender.offeredAgain, kit.sender.epoch], [3, 3, "another"]);
});

test("the same database that has less than it acknowledged is offered the rest again", async () => {
  const house = gallery();
  const kit = await setUp({ channel: async (body) => ok(house.answer(body)) });
  await enter(kit.store, 5);
  await kit.sender.tryNow();
  await kit.sender.meet(kit.sender.epoch, 2);
  assert.equal((await kit.store.counts()).waiting, 3);
});

test("with nothing waiting it asks, and hears what became of an entry once; a failure is no failure", async () => {
  const house = gallery();
  let asked = 0;
  const decided = [{ action_id: "", verdict: "refused", words: "a slip, not counted, said Odile Marsh: thumb", at: "2026-03-12T08:30:00Z" }];
  const kit = await setUp({
    channel: async (body) => {
      if (body.actions.length) return ok(house.answer(body));
      asked += 1;
      if (asked === 1) return status(500);
      return ok({ ...house.answer(body), decided });
    },
  });
  await enter(kit.store, 1);
  await kit.sender.tryNow();
  decided[0].action_id = (await kit.store.everything())[0].action.action_id;
  const state = kit.sender.state;
  await kit.sender.ask();
  assert.equal(kit.sender.state, state);
  await kit.sender.ask();
  const [{ verdict }] = await kit.store.everything();
  assert.deepEqual([verdict.verdict, verdict.words, verdict.decided_at], ["refused", decided[0].words, decided[0].at]);
  let changes = 0;
  kit.store.onChange(() => (changes += 1));
  await kit.sender.ask();
  assert.equal(changes, 0);
  await enter(kit.store, 1);
  await kit.sender.ask();
  assert.equal(asked, 3);
});
