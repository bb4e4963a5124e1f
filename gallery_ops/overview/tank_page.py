"""This tank now, next, why: everything the staff's page of one tank shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.utils.translation import gettext as _

from gallery_ops.drawing import FEWEST, TankShape, band_svg
from gallery_ops.drawing import Reading as Point
from gallery_ops.kernel.models import Alert, Showroom
from gallery_ops.kernel.queries.alerts import alerts_about, open_alerts
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.quantity import Quantity, quantity
from gallery_ops.overview.drawings import shapes
from inventory.models import Item
from inventory.queries.keys import container_key
from inventory.queries.livestock import Head, heads_by_tank
from inventory.queries.plans import planned_base
from inventory.queries.supply import Feeder, feeders
from maintenance.models import Completion, DueTask, Observation, Skip
from maintenance.queries.due import due_of_tank
from maintenance.queries.incidents import Stopping, stopped_by
from maintenance.queries.pack_words import reading_text, word_label
from maintenance.queries.round_entries import LATE_ENTRY
from maintenance.services.skips import CLAIM
from tanks.models import Layout, Reading, Tank
from tanks.queries.old_codes import OldCode, old_codes
from tanks.queries.readings import ranges_for
from tanks.queries.tanks import TankNow, leads_to, tank_by_code, tank_now

WEEKS = 8
LATELY = 12
LIFE = ("briefed", "hardscape", "planting", "start_up", "grow_in", "show", "decline", "teardown")


@dataclass(frozen=True, slots=True)
class Gift:
    """What the plan gives on a day: amount, item, and how it is given."""

    item: Item
    purpose: str
    amount: Quantity
    feeder: Feeder | None
    version: int


@dataclass(frozen=True, slots=True)
class Band:
    """One parameter: its last value and its points on the own median."""

    name: str
    words: str
    value: str
    chart: str


@dataclass(frozen=True, slots=True)
class Line:
    """Something that was written down."""

    at: datetime
    mark: str
    words: str
    who: str

    @staticmethod
    def of(row: Any, mark: str, words: str) -> Line:
        """Of a fact, with when and by whom; one that came late says so."""
        who = row.person.given_name
        if row.entered_at - row.done_at_corrected > LATE_ENTRY:
            who = _("%(who)s, entered late") % {"who": who}
        return Line(row.done_at_corrected, mark, words, who)


@dataclass(frozen=True, slots=True)
class Step:
    """A stage in the life of the layout."""

    words: str
    was: bool
    is_here: bool


@dataclass(frozen=True, slots=True)
class Old:
    """A code of before, and the last whole day of it."""

    row: OldCode
    last_on: date


@dataclass(frozen=True, slots=True)
class TankPage:
    """One tank."""

    now: TankNow
    shape: TankShape
    led_here: list[Old]
    went_into: TankNow | None
    seen: Completion | None
    paused_by: Stopping | None
    due: list[DueTask]
    gifts: list[Gift]
    heads: list[Head]
    alerts: list[Alert]
    bands: list[Band]
    life: list[Step]
    before: list[Layout]
    lately: list[Line]
    public_code: str
    version: str


def tank_page(showroom: Showroom, code: str, at: datetime) -> TankPage:
    """The tank that has or had this code.

    Raises
    ------
    Unknown
        when no tank of this showroom was ever called so.
    """
    now = tank_by_code(showroom, code, at)
    tank = now.tank
    due = due_of_tank(showroom, tank.pk, now.on, now.on + timedelta(days=7))
    public = tank.public_codes.still().first()
    version = now.layout.versions.at(at).first() if now.layout else None
    return TankPage(
        now=now,
        shape=shapes(showroom, at, [now])[now.code],
        led_here=_led_here(showroom, tank, at),
        went_into=tank_now(leads_to(tank, at), at) if tank.went_into_id else None,
        seen=_seen(showroom, tank.pk, now.on),
        paused_by=stopped_by(showroom, tank, at),
        due=[task for task in due if task.state == "open"],
        gifts=_gifts(showroom, now, at),
        heads=heads_by_tank(showroom, at).get(tank.pk, []),
        alerts=_alerts(showroom, now, at),
        bands=_bands(showroom, now, at),
        life=_life(now),
        before=list(
            tank.layouts.filter(voided_at=None, to_at__lte=at)
            .select_related("designer")
            .order_by("-to_at")[:10]
        ),
        lately=_lately(showroom, tank.pk),
        public_code=public.code if public else "",
        version=f"{version.major}.{version.minor}" if version else "",
    )


def _led_here(showroom: Showroom, tank: Tank, at: datetime) -> list[Old]:
    """Codes of before, each with the last whole day on which it was in use."""
    found = old_codes(showroom, [tank.pk], at).get(tank.pk, [])
    day = timedelta(days=1)
    return [
        Old(row, business_day(row.until, showroom.tz, showroom.cut_off_hour) - day) for row in found
    ]


def _seen(showroom: Showroom, tank_id: int, on: date) -> Completion | None:
    found: Completion | None = (
        Completion.objects.of(showroom)
        .standing()
        .filter(due_task__tank_id=tank_id, due_task__template__kind="look", due_task__due_on=on)
        .select_related("person")
        .order_by("done_at_corrected")
        .first()
    )
    return found


def _gifts(showroom: Showroom, now: TankNow, at: datetime) -> list[Gift]:
    planned = planned_base(showroom, now.tank, now.on)
    items = Item.objects.of(showroom).in_bulk([row.item_id for row in planned.values()])
    found = feeders(showroom, at, [now.tank.pk])
    gifts = []
    for row in planned.values():
        item = items[row.item_id]
        feeder = found.get((now.tank.pk, row.purpose, row.item_id))
        amount = quantity(item.dimension, row.amount_base)
        gifts.append(Gift(item, row.purpose, amount, feeder, row.version))
    order = {"dose": 0, "food": 1, "gas": 2}
    return sorted(gifts, key=lambda gift: (order.get(gift.purpose, 9), gift.item.name))


def _alerts(showroom: Showroom, now: TankNow, at: datetime) -> list[Alert]:
    """Alerts on the tank, and on containers that feed it alone."""
    found = list(alerts_about(showroom, "tank", now.code))
    mine = {
        container_key(feeder.container_id)
        for feeder in feeders(showroom, at, [now.tank.pk]).values()
        if not feeder.by_zone
    }
    found += [row for row in open_alerts(showroom) if row.subject_key in mine]
    return sorted(found, key=lambda alert: alert.harm_class)


def _bands(showroom: Showroom, now: TankNow, at: datetime) -> list[Band]:
    """Numbers of the last eight weeks in this layout, never across a new one."""
    since = at - timedelta(weeks=WEEKS)
    if now.layout is not None:
        since = max(since, now.layout.from_at)
    rows = (
        Reading.objects.of(showroom)
        .standing()
        .filter(tank=now.tank, value__isnull=False, done_at_corrected__gte=since)
        .select_related("parameter")
        .order_by("parameter__order", "done_at_corrected")
    )
    groups: dict[int, list[Reading]] = {}
    for row in rows:
        groups.setdefault(row.parameter_id, []).append(row)
    span = (at - since) / timedelta(seconds=1) or 1.0
    bands = []
    for group in groups.values():
        last = group[-1]
        points = [
            Point((r.done_at_corrected - since) / timedelta(seconds=1) / span, float(r.value or 0))
            for r in group
        ]
        ranges = ranges_for(now.tank, last.parameter)
        low, high = ranges.alarm_low, ranges.alarm_high
        enough = len(points) >= FEWEST
        sentence = _("%(name)s, %(n)s readings") % {"name": last.parameter.name, "n": len(points)}
        bands.append(
            Band(
                name=last.parameter.name,
                words=_("n = %(n)s") % {"n": len(points)}
                if enough
                else _("n = %(n)s, not enough readings") % {"n": len(points)},
                value=reading_text(last, showroom.decimal_mark),
                chart=band_svg(
                    points,
                    target=(low, high) if low is not None and high is not None else None,
                    sentence=sentence,
                ),
            )
        )
    return bands


def _life(now: TankNow) -> list[Step]:
    if now.layout is None:
        return [Step(_("vacant"), False, True)]
    stage = "show" if now.layout.stage == "recovery" else now.layout.stage
    labels = dict(Layout._meta.get_field("stage").choices or [])
    at = LIFE.index(stage)
    return [Step(str(labels[key]), n < at, n == at) for n, key in enumerate(LIFE)]


def _lately(showroom: Showroom, tank_id: int) -> list[Line]:
    lines = _done(showroom, tank_id)
    for row in (
        Skip.objects.of(showroom)
        .standing()
        .filter(due_task__tank_id=tank_id)
        .select_related("due_task__template", "person")
        .order_by("-done_at_corrected")[:LATELY]
    ):
        words = f"{row.due_task.template.name}: {row.get_reason_display()}"
        if row.links_to.startswith(CLAIM):
            words = _("%(words)s (a claim: %(who)s)") % {"words": words, "who": row.text}
        lines.append(Line.of(row, "skipped", words))
    for row in (
        Observation.objects.of(showroom)
        .standing()
        .filter(tank_id=tank_id)
        .exclude(text="")
        .select_related("person")
        .order_by("-done_at_corrected")[:LATELY]
    ):
        lines.append(Line.of(row, "changed", row.text))
    for row in (
        Reading.objects.of(showroom)
        .filter(tank_id=tank_id)
        .select_related("parameter", "person", "corrects")
        .order_by("-done_at_corrected", "-pk")[:LATELY]
    ):
        lines.append(Line.of(row, "as_it_was", _reading_words(row, showroom.decimal_mark)))
    return sorted(lines, key=lambda line: line.at, reverse=True)[:LATELY]


def _done(showroom: Showroom, tank_id: int) -> list[Line]:
    """What was done; tasks of one person within the same few minutes are one line."""
    lines: list[Line] = []
    for row in (
        Completion.objects.of(showroom)
        .standing()
        .filter(due_task__tank_id=tank_id)
        .select_related("due_task__template", "person", "confirmed")
        .order_by("-done_at_corrected", "-pk")[: 3 * LATELY]
    ):
        done = row.due_task.template.name
        if row.to_confirm and getattr(row, "confirmed", None) is None:
            done = _("%(task)s (unconfirmed)") % {"task": done}
        one = Line.of(row, "done", done)
        name, who = one.words, one.who
        last = lines[-1] if lines else None
        if last and last.who == who and last.at - row.done_at_corrected < timedelta(minutes=5):
            lines[-1] = Line(
                last.at, "done", f"{name}, {last.words[0].lower()}{last.words[1:]}", who
            )
        else:
            lines.append(one)
    return lines


def _reading_words(row: Reading, mark: str) -> str:
    """A reading; one that stands for another says for which and why, one that undoes says so."""
    said = f"{row.parameter.name} {reading_text(row, mark)}"
    if row.takes_back:
        return _("taken back: %(said)s") % {"said": said}
    before: Any = row.corrects
    if before is not None:
        was = word_label(row.parameter.key, before.word) if before.word else before.text_as_typed
        old = {"said": said, "old": was, "why": row.reason}
        return _("%(said)s, corrected from %(old)s: %(why)s") % old
    return said
