"""Does the tablet's own database count, number and carry over as it should, in a real browser?"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route

pytestmark = [pytest.mark.browser, pytest.mark.once]

SCRIPTS = Path(__file__).resolve().parents[2] / "gallery_ops/web/static/web/js"
ADDRESS = "http://127.0.0.1:9/"
"""Nothing listens there: every answer comes from the folder of scripts."""
HELP = """
window.kept = async (number, channel) => {
  const { TabletStore, make } = await import("/outbox/tablet_store.js");
  const { openDatabase } = await import("/outbox/database.js");
  const name = "outbox test";
  const db = await openDatabase(name, number, make);
  return new TabletStore(db, channel ? new BroadcastChannel(name) : null);
};
window.drafts = async (n) => {
  const { envelopes } = await import("/outbox/envelope.js");
  const context = { device_id: "d", round_id: "r", person_id: "p", person_proof: "pin",
    boot_id: "b" };
  const clock = { now: () => new Date(), monotonic: () => 1 };
  const draft = { kind: "check", body: { value: "x" } };
  return envelopes(Array.from({ length: n }, () => draft), context, clock);
};
window.settled = (actions, verdict) => actions.map(({ action_id }) => ({ action_id, verdict }));
"""


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    def serve(route: Route) -> None:
        path = SCRIPTS / route.request.url.removeprefix(ADDRESS)
        if path.is_file():
            route.fulfill(path=path, content_type="text/javascript")
        else:
            route.fulfill(body="<!doctype html><title>scripts</title>", content_type="text/html")

    context = browser.new_context()
    context.route("**/*", serve)
    context.add_init_script(HELP)
    opened = context.new_page()
    opened.goto(ADDRESS)
    yield opened
    context.close()


def test_counts_are_those_of_the_rows_whatever_becomes_of_them(page: Page) -> None:
    counted: list[Any] = page.evaluate(
        """async () => {
            const store = await kept(3, false), told = [await store.counts()];
            const first = await store.append(await drafts(5));
            told.push(await store.counts());
            await store.settle([...settled(first.slice(0, 1), "accepted"),
                ...settled(first.slice(1, 3), "held"), ...settled(first.slice(3, 4), "differs")]);
            told.push(await store.counts());
            await store.settle(settled(first.slice(1, 2), "accepted"));
            told.push(await store.counts(), first[4].done_at);
            await store.offerAgain(2);
            told.push(await store.counts());
            return told;
        }"""
    )
    none, five, apart, judged, done_at, again = counted
    assert none == {"waiting": 0, "held": 0, "unreadable": 0, "oldest": None}
    assert (five["waiting"], five["held"], five["unreadable"]) == (5, 0, 0)
    assert (apart["waiting"], apart["held"], apart["unreadable"]) == (1, 2, 1)
    assert (judged["held"], judged["oldest"]) == (1, done_at)
    assert (again["waiting"], again["held"], again["unreadable"]) == (3, 0, 0)


def test_what_an_earlier_version_kept_is_counted_too(page: Page) -> None:
    """Version 2 had no sign for what needs a person: it is set when the database is opened."""
    counted = page.evaluate(
        """async () => {
            await new Promise((done, failed) => {
                const asked = indexedDB.open("outbox test", 2);
                asked.onerror = () => failed(asked.error);
                asked.onupgradeneeded = () => {
                    const entries = asked.result.createObjectStore("entries", { keyPath: "seq" });
                    entries.createIndex("waits", "waits");
                    entries.createIndex("action_id", "action_id", { unique: true });
                    entries.createIndex("round_id", "round_id");
                    for (const name of ["drafts", "meta", "photos", "photo_bytes"])
                        asked.result.createObjectStore(name);
                    [null, "held", "malformed", "accepted"].forEach((verdict, n) => entries.add({
                        seq: n + 1, action_id: `a${n}`, round_id: "r", action: { done_at: "then" },
                        verdict: verdict && { verdict }, ...(verdict ? {} : { waits: 1 }) }));
                };
                asked.onsuccess = () => { asked.result.close(); done(); };
            });
            return (await kept(3, false)).counts();
        }"""
    )
    assert counted == {"waiting": 1, "held": 1, "unreadable": 1, "oldest": "then"}


@pytest.mark.parametrize("hear", [True, False], ids=["that hear each other", "that are deaf"])
def test_two_pages_never_give_one_number_twice(page: Page, hear: bool) -> None:
    """Each believes to know the next number; the other wrote in between, or at the same time."""
    numbers: list[int] = page.evaluate(
        """async (hear) => {
            const [one, two] = [await kept(3, hear), await kept(3, hear)], given = [];
            for (let turn = 0; turn < 4; turn += 1) {
                given.push(...await one.append(await drafts(2)));
                given.push(...await two.append(await drafts(1)));
                given.push(...await two.append(await drafts(1)));
                const lists = [await drafts(2), await drafts(3), await drafts(1)];
                const at_once = [one, two, one].map((store, n) => store.append(lists[n]));
                for (const list of await Promise.all(at_once)) given.push(...list);
            }
            const rows = await one.everything();
            if (rows.length !== given.length) throw new Error(`${rows.length} rows`);
            const seqs = new Map(rows.map(({ action }) => [action.action_id, action.seq]));
            for (const { action_id, seq } of given)
                if (seqs.get(action_id) !== seq) throw new Error(`${seq} is another's`);
            return rows.map(({ action }) => action.seq);
        }""",
        hear,
    )
    assert numbers == list(range(1, 41))


def test_a_page_that_only_looks_makes_no_outbox_and_lets_nothing_go(page: Page) -> None:
    told: list[Any] = page.evaluate(
        """async () => {
            const { openIfThere, openTabletStore } = await import("/outbox/tablet_store.js");
            const names = async () => (await indexedDB.databases()).map((one) => one.name);
            const none = await openIfThere("new"), before = await names();
            const store = await openTabletStore({ deviceId: "new", nextSeq: 4 });
            const long_ago = (await drafts(1)).map((one) => ({ ...one, done_at: "2020-01-01" }));
            await store.settle(settled(await store.append(long_ago), "accepted"));
            await store.append(await drafts(2));
            const looking = await openIfThere("new");
            return [none, before, (await looking.counts()).waiting,
                (await looking.everything()).length, await looking.acknowledged(), await names()];
        }"""
    )
    assert told == [None, [], 2, 3, 4, ["outbox new"]]
