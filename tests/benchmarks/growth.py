"""What is measured, beside a bare query of the same rows, and which ratio is the most allowed.

Limits are those that the project set itself: a page that shows one page of rows may take 1.5 times
as long with a hundred times the tanks; the wall is folded by room and stays under 1 MB; a round
pack and the wall may grow with their tanks, 11 times for 10 times the tanks.
"""

from __future__ import annotations

import gc
import os
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import timedelta
from statistics import median
from typing import Any

from django.test import Client

from gallery_ops.kernel.models import Showroom
from inventory.models import Container, Forecast, Item, StockLine
from inventory.services import stock_lines
from maintenance.actions.envelope import MOST_ACTIONS
from maintenance.models import Stop
from tanks.models import TankCode
from tests.builders.fleet import A_ROOM_HOLDS, AT, ON, Fleet, a_fleet
from tests.gallery_ops.api.asking import a_batch, a_browser, action_of, send, verdicts

FEW, SOME, MANY = 20, 200, 2_000
PAGED = 1.5
PACK = 11.0
MOST_BYTES = 1_000_000
MOST_PACK_BYTES = 300_000
"""Of a pack of 20 tanks, without pictures."""
GRAMS = {"amount": 8.0, "unit": "g"}
NINE = [
    {"what": "last_measured", "on": None, "n": 0},
    {"what": "plan", "per_day": GRAMS, "lines": 1},
    {"what": "learned", "factor": 0.98, "from": 0.9, "to": 1.1, "n": 12},
    {"what": "changes_ahead", "changes": []},
    {"what": "skipped", "ticked": False},
    {"what": "deliveries", "known": False},
    {"what": "reorder_point", "known": False},
    {"what": "on_order", "kept": True},
    {"what": "past_errors", "n": 0},
]
"""The reasons of a projection, so that a page renders as much as it does for a real one."""


@dataclass(frozen=True, slots=True)
class Line:
    """One measured thing: small and large beside each other [ms], or a number with its limit."""

    name: str
    small_ms: float
    large_ms: float
    bare_small_ms: float
    bare_large_ms: float
    ratio: float
    limit: float
    unit: str = "x"

    @property
    def missed(self) -> bool:
        """Is it above its limit?"""
        return self.ratio > self.limit


def measure(rounds: int) -> list[Line]:
    """All lines; makes three galleries first."""
    few, some, many = a_fleet(FEW, "few"), a_fleet(SOME, "some"), a_fleet(MANY, "many")
    small, large = a_browser(few.owner), a_browser(many.owner)
    pages = {
        "tank list, page 1": ("/tanks/?as=list", _codes),
        "API tanks, page 1 of 20": ("/api/v1/tanks?page_size=20", _codes),
        "stock, page 1": ("/stock/", _forecasts),
    }
    lines = []
    for name, (address, bare) in pages.items():
        times = _in_turns(
            rounds,
            _asking(small, address),
            _asking(large, address),
            lambda bare=bare: bare(few.showroom),
            lambda bare=bare: bare(many.showroom),
        )
        lines.append(_line(name, times, PAGED))
    for name, asks in _stock(few, some, many).items():
        lines.append(_line(name, _in_turns(rounds, *asks), PAGED))
    lines += of_the_round(few, some, rounds)
    turns = max(3, rounds // 5)
    lines.append(_line(f"wall, {FEW} and {SOME}", _walls(few, some, turns), PACK))
    wall = _walls(some, many, turns)
    lines.append(_line(f"wall, {SOME} and {MANY:,}", wall, PACK))
    page = large.get("/tanks/").content
    unfolded = page.count(b'<section class="room"')
    rooms = page.count(b"room room-fold")
    lines.append(Line("wall of 2,000, its size", *wall, len(page), MOST_BYTES, " bytes"))
    lines.append(Line("wall of 2,000, rooms not folded", *wall, unfolded, 0, " rooms"))
    if rooms < MANY // A_ROOM_HOLDS:
        raise RuntimeError(f"The wall shows {rooms} folded rooms of {MANY // A_ROOM_HOLDS}.")
    return lines


def measure_round(rounds: int) -> list[Line]:
    """Only what a tablet gets and sends; makes two galleries first."""
    return of_the_round(a_fleet(FEW, "few"), a_fleet(SOME, "some"), rounds)


def of_the_round(few: Fleet, some: Fleet, rounds: int) -> list[Line]:
    """What a tablet gets before it walks, and what it sends after a day without network.

    Size of a pack as it is written and as it goes over the wire, and the time that it takes; a
    batch of ten doses and of a hundred, each new.
    """
    small, middle = a_browser(few.owner), a_browser(some.owner)
    times = _in_turns(
        rounds,
        _asking(small, _pack(few)),
        _asking(middle, _pack(some)),
        lambda: _stops(few),
        lambda: _stops(some),
    )
    lines = [_line("round pack, 20 and 200", times, PACK)]
    for fleet, browser in ((few, small), (some, middle)):
        count = len(fleet.tanks)
        plain = len(browser.get(_pack(fleet)).content)
        packed = browser.get(_pack(fleet), headers={"accept-encoding": "gzip"})
        if packed.headers.get("Content-Encoding") != "gzip":
            raise RuntimeError("The pack goes over the wire as it is written.")
        limit = MOST_PACK_BYTES * count // FEW
        name = f"round pack of {count}, its size"
        lines.append(Line(name, *times, plain, limit, " bytes"))
        lines.append(Line(f"{name} on the wire", *times, len(packed.content), limit, " bytes"))
    batches = _in_turns(
        rounds,
        _sending(small, few, MOST_ACTIONS // 10),
        _sending(small, few, MOST_ACTIONS),
        lambda: _stops(few),
        lambda: _stops(few),
    )
    lines.append(_line("batch of doses, 10 and 100 entries", batches, PACK))
    return lines


def _sending(browser: Client, fleet: Fleet, size: int) -> Callable[[], None]:
    """A batch of new doses, spread over the tanks."""
    product = str(Item.objects.get(showroom=fleet.showroom, code="fertiliser").uid)
    stops = [
        str(uid) for uid in fleet.opening.stops.order_by("order").values_list("uid", flat=True)
    ]
    body = {
        "product": product, "source": None, "planned_ul": 3000, "given_ul": 3000, "presses": None,
        "per_press_ul": None, "text": None, "again": None, "short": None,
    }  # fmt: skip

    def dose(n: int) -> dict[str, Any]:
        stop = stops[n % len(stops)]
        return action_of(fleet.owner, fleet.opening, "dose", body, stop_id=stop)

    def deed() -> None:
        said = verdicts(send(browser, a_batch("desk", *map(dose, range(size)))))
        if said != ["accepted"] * size:
            raise RuntimeError(f"Not all doses counted: {set(said)}")

    return deed


def _stock(few: Fleet, some: Fleet, many: Fleet) -> dict[str, tuple[Callable[[], object], ...]]:
    """One item of 20 and of 2,000 containers; then 200 and 2,000 cylinders with projections, so
    that both galleries fill every page of the stock page.
    """
    small, middle, large = (a_browser(fleet.owner) for fleet in (few, some, many))
    item = str(Container.objects.of(many.showroom).select_related("item").earliest("pk").item.code)
    asks: dict[str, tuple[Callable[[], object], ...]] = {
        "an item of 20 and 2,000 containers": (
            _asking(small, f"/stock/items/{item}/"),
            _asking(large, f"/stock/items/{item}/"),
            lambda: _containers(few.showroom),
            lambda: _containers(many.showroom),
        ),
    }
    for fleet in (some, many):
        _projected(fleet)
    asks["stock, 200 and 2,000 cylinders, page 1"] = (
        _asking(middle, "/stock/"),
        _asking(large, "/stock/"),
        lambda: _stock_lines(some.showroom),
        lambda: _stock_lines(many.showroom),
    )
    asks["stock, 200 and 2,000 cylinders, page 6"] = (
        _asking(middle, "/stock/?page=6"),
        _asking(large, "/stock/?page=6"),
        lambda: _stock_lines(some.showroom),
        lambda: _stock_lines(many.showroom),
    )
    return asks


def _projected(fleet: Fleet) -> None:
    """A projection with its reasons for each cylinder of the fleet, and the lines that follow."""
    cylinders = Container.objects.of(fleet.showroom).filter(item__kind="gas").order_by("pk")
    if len(cylinders) < len(fleet.tanks):
        raise RuntimeError(f"{len(cylinders)} cylinders are too few for {len(fleet.tanks)} tanks.")
    Forecast.objects.bulk_create(
        Forecast(
            showroom=fleet.showroom,
            container=one,
            item_id=one.item_id,
            as_of_on=ON,
            made_at=AT,
            engine="benchmark",
            digest="0" * 64,
            level_base=1_500_000,
            plan_base_per_day=8_000,
            quantiles_days=[187.0] * 19,
            earliest_on=ON + timedelta(days=150 + n % 40),
            likely_on=ON + timedelta(days=187 + n % 40),
            order_by_on=ON + timedelta(days=140 + n % 40),
            because=NINE,
        )
        for n, one in enumerate(cylinders)
    )
    stock_lines.refresh(showroom=fleet.showroom, at=AT)


def told(lines: Iterable[Line]) -> str:
    """A table that can be pasted into the README beside this."""
    out = [
        f"Load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores. Medians, ms.",
        "",
        "| what | small | large | bare small | bare large | ratio | limit | |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for line in lines:
        number = f"{line.ratio:.2f}x" if line.unit == "x" else f"{line.ratio:,.0f}{line.unit}"
        limit = f"{line.limit:g}x" if line.unit == "x" else f"{line.limit:,.0f}{line.unit}"
        verdict = "MISSED" if line.missed else "held"
        out.append(
            f"| {line.name} | {line.small_ms:.1f} | {line.large_ms:.1f} | {line.bare_small_ms:.2f} "
            f"| {line.bare_large_ms:.2f} | {number} | {limit} | {verdict} |"
        )
    return "\n".join(out)


def _line(name: str, times: tuple[float, float, float, float], limit: float) -> Line:
    return Line(name, *times, ratio=times[1] / times[0], limit=limit)


def _in_turns(rounds: int, *deeds: Callable[[], object]) -> tuple[float, float, float, float]:
    """Median time of each [ms], asked for in turns; the first turn only warms up."""
    seen: list[list[float]] = [[] for _ in deeds]
    gc.collect()
    for turn in range(rounds + 1):
        for times, deed in zip(seen, deeds, strict=True):
            began = time.perf_counter()
            deed()
            if turn:
                times.append(1_000 * (time.perf_counter() - began))
    first, second, third, fourth = (median(times) for times in seen)
    return first, second, third, fourth


def _asking(browser: Client, address: str) -> Callable[[], None]:
    def ask() -> None:
        answer = browser.get(address)
        if answer.status_code != 200:
            raise RuntimeError(f"{address} answered {answer.status_code}: {answer.content[:200]!r}")

    return ask


def _walls(few: Fleet, many: Fleet, rounds: int) -> tuple[float, float, float, float]:
    """The walls of two fleets, beside the codes and glasses that they show."""
    return _in_turns(
        rounds,
        _asking(a_browser(few.owner), "/tanks/"),
        _asking(a_browser(many.owner), "/tanks/"),
        lambda: _codes(few.showroom, None),
        lambda: _codes(many.showroom, None),
    )


def _pack(fleet: Fleet) -> str:
    return f"/api/v1/rounds/{fleet.opening.uid}/pack"


def _codes(showroom: Showroom, rows: int | None = 20) -> int:
    """The same tanks as the page shows, as bare as can be."""
    found = TankCode.objects.of(showroom).select_related("tank").order_by("code")[:rows]
    return len(list(found))


def _forecasts(showroom: Showroom) -> int:
    found = Forecast.objects.of(showroom).select_related("item", "container")
    return len(list(found.order_by("likely_on")[:20]))


def _containers(showroom: Showroom) -> int:
    found = Container.objects.of(showroom).select_related("item", "lot", "room")
    return len(list(found.order_by("opened_on", "code")[:20]))


def _stock_lines(showroom: Showroom) -> int:
    found = StockLine.objects.of(showroom).select_related("item", "container", "forecast", "alert")
    return len(list(found.order_by("act_by_on", "harm_class", "name", "id")[:25]))


def _stops(fleet: Fleet) -> int:
    return len(list(Stop.objects.filter(round=fleet.opening).select_related("tank", "position")))
