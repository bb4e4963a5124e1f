// Lines for the next shift: the same table of cases holds these rules and the gallery's own.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { draftLines, quickStops } from "../../gallery_ops/web/static/web/js/round/handover_draft.js";
import { readPack } from "../../gallery_ops/web/static/web/js/round/pack.js";

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
