// Lines for the next shift: the same table of cases holds these rules and the gallery's own.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { openStore } from "../../gallery_ops/web/static/web/js/outbox/store.js";
import { handoverDrafts, handoverLines } from "../../gallery_ops/web/static/web/js/round/handover.js";
import { draftLines, quickStops } from "../../gallery_ops/web/static/web/js/round/handover_draft.js";
import { readPack } from "../../gallery_ops/web/static/web/js/round/pack.js";
import { Round } from "../../gallery_ops/web/static/web/js/round/round.js";

const table = JSON.parse(readFileSync(new URL("./handover_cases.json", import.meta.url), "utf8"));

for (const one of table.cases) {
  test(`handover: ${one.name}`, () => {
    const pack = readPack({ schema: 1, tanks: [], ...structuredClone(table.pack) });
    Object.assign(pack.round, one.round);
    const of = (stop) => one.entries[stop.tank ?? ""] ?? [];
    assert.deepEqual(draftLines(pack, of).map(({ entry: _entry, ...line }) => line), one.lines);
    if (one.quick) assert.deepEqual(quickStops(pack, of), one.quick);
  });
}

const CASE = table.cases.find((one) => one.name.startsWith("at most three"));
const BODY = { line: "do", text: "Weigh the bottle", tank: "T02", by: "2026-03-12", source: null, entry: null, handed_to: null };

/** A round of the table's pack, with what was entered there. */
async function aRound({ person = "you", handover = [], store }) {
  const pack = readPack({ schema: 1, tanks: [], people: [{ id: "you", name: "Bram Tolliver", role: "carer", skills: [] }, { id: "odile", name: "Odile Marsh", role: "carer", skills: [] }], handover, ...structuredClone(table.pack) });
  for (const stop of pack.stops) stop.entries = structuredClone(CASE.entries[stop.tank ?? ""] ?? []);
  const context = { device_id: "tablet-1", round_id: pack.round.id, person_id: person, person_proof: "pin", boot_id: "b" };
  let ms = Date.parse("2026-03-12T08:30:00Z");
  const round = new Round({ pack, store, context, clock: { now: () => new Date((ms += 1000)), monotonic: () => 0 } });
  await round.refresh();
  await round.readHandover();
  const typed = new Map();
  const app = { round, draftOf: (stop) => typed.get(stop.id) ?? typed.set(stop.id, { typed: {} }).get(stop.id), keepDraft: () => {} };
  return { round, app, pack };
}

test("handover: drafted lines are changed, taken out, added to and handed to a name, with their sources", async () => {
  const { app, pack } = await aRound({ store: await openStore({ deviceId: "tablet-1", nextSeq: 1 }) });
  const [first, second, third] = handoverLines(app);
  assert.deepEqual([first.kind, second.kind, third.kind], ["worry", "worry", "do"]);
  const { typed } = app.draftOf(pack.stops[0]);
  typed[first.key] = "Heater may stick";
  typed[second.key] = "";
  typed[`own ${pack.stops[0].id} 1`] = "The lid rattles";
  typed[`own ${pack.stops[0].id} 1 kind`] = "changed";
  typed["own any 1"] = "The van comes at ten";
  typed["handed to"] = "odile";
  const drafts = handoverDrafts(app);
  assert.deepEqual(drafts.map(({ stop_id, body }) => [stop_id, body.line, body.text, body.by, body.source, body.handed_to]), [
    ["s1", "worry", "Heater may stick", null, "reading 08:12", "odile"],
    ["s1", "do", "Water change left out, short of time", "2026-03-12", "skip 08:12", "odile"],
    ["s1", "changed", "The lid rattles", null, null, "odile"],
    [null, "worry", "The van comes at ten", null, null, "odile"],
  ]);
});

test("handover: the next person on the same tablet finds the lines without a network, reads them once, and that opens no round", async () => {
  const store = await openStore({ deviceId: "tablet-1", nextSeq: 1 });
  const { round } = await aRound({ store });
  await round.append([{ kind: "handover_line", stop_id: "s2", body: { ...BODY, tank: null } }, { kind: "handover_line", stop_id: null, body: { ...BODY, tank: null, handed_to: "somebody" } }]);
  assert.deepEqual(round.unread(), []);
  const packed = { id: "p1", line: "worry", text: "It hums", tank: "T01", by: null, from: "Maud Ellerkamp", to: null, at: "2026-03-12T07:00:00Z", source: null };
  const next = await aRound({ person: "odile", handover: [packed], store });
  assert.deepEqual(next.round.unread().map(({ tank, text, from }) => [tank, text, from]), [["T01", "It hums", "Maud Ellerkamp"], ["T02", "Weigh the bottle", "Bram Tolliver"]]);
  const before = next.round.log.length;
  await next.round.append(next.round.unread().map((line) => ({ kind: "handover_read", stop_id: null, body: { line: line.id } })));
  assert.deepEqual(next.round.unread(), []);
  assert.deepEqual(next.round.log.slice(before).map(({ action }) => action.kind), ["handover_read", "handover_read"]);
  assert.equal(next.round.handedOver().length, 2);
});
