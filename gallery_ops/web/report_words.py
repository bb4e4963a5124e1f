"""How wrong were we, in words: the promise, what was kept, and whether luck explains it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.drawing.promise import (
    SlotWords,
    Spot,
    beads_axis_svg,
    beads_svg,
    promise_svg,
    slots_svg,
    span_of,
)
from gallery_ops.overview.report_page import ReportPage, TenLine
from gallery_ops.web.report_done_words import done_words, why_not
from gallery_ops.web.words import number
from inventory.queries.report_card import Kept, Tally
from inventory.queries.report_every import ScoredForecast


@dataclass(frozen=True, slots=True)
class Vessel:
    """A promise beside what came of it."""

    picture: SafeString
    name: str
    said: str
    verdict: str


@dataclass(frozen=True, slots=True)
class Ten:
    """One item: beads or why there are none."""

    name: str
    of: str
    picture: SafeString | None
    few: str
    inside: str
    middle: str
    compared: str
    verdict: str
    done: tuple[str, ...] = ()


def lede(page: ReportPage) -> tuple[str, str]:
    """What was promised and kept, and whether luck explains the difference."""
    whole = page.card.whole.whole
    inside = whole.inside
    if inside is None or not inside.n:
        waiting = page.card.waiting
        return _("No projection has met its truth yet."), (
            ngettext(
                "%(n)d waits for its own.", "%(n)d wait for theirs.", waiting
            ) % {"n": waiting}
            if waiting
            else _("There is none yet.")
        )  # fmt: skip
    first = _("We promised 8 in 10 and kept %(kept)s.") % {"kept": number(inside.share * 10, 1)}
    return first, f"{verdict(whole, inside)} {likely_day(whole)}"


def verdict(whole: Tally, inside: Kept) -> str:
    """Does luck explain it?"""
    if whole.verdict == "too_few":
        return _("Too few to judge.")
    if inside.is_luck:
        return _("Luck explains the difference.")
    if inside.share < inside.promise:
        return _("Luck does not explain it: ranges are too narrow.")
    return _("Luck does not explain it: ranges are wider than they need be.")


def likely_day(whole: Tally) -> str:
    """By how much the likely day was off, in the middle case."""
    if whole.early_days is None or whole.off_days is None:
        return ""
    off, side = number(whole.off_days, 1), round(whole.early_days, 1)
    said = _("The likely day was off by %(off)s days in the middle case") % {"off": off}
    if abs(side) < 0.5:
        return f"{said}."
    way = _("things ran out sooner") if side < 0 else _("things lasted longer")
    return f"{said}, {way}."


NAMES = {0.5: "Half the time", 0.7: "7 of 10", 0.8: "8 of 10", 0.9: "9 of 10"}


def vessels(whole: Tally) -> list[Vessel]:
    """Four promises."""
    return [_vessel(kept) for kept in whole.kept]


def _vessel(kept: Kept) -> Vessel:
    promised, got = round(kept.promise * 100), round(kept.share * 100) if kept.n else None
    said = _("promised %(a)d of 100, kept %(b)s") % {
        "a": promised,
        "b": _("nothing scored") if got is None else got,
    }
    return Vessel(
        picture=mark_safe(promise_svg(promised, got, sentence=said)),
        name=_(NAMES[kept.promise]),
        said=_("%(a)d of %(n)d kept.") % {"a": kept.inside, "n": kept.n},
        verdict=_explained(kept),
    )


def _explained(kept: Kept) -> str:
    if not kept.n:
        return ""
    if kept.is_luck:
        return _("Luck explains it")
    return _("Too narrow") if kept.share < kept.promise else _("Too wide")


def luck_words(whole: Tally) -> str:
    """The band of luck of the shown range."""
    inside = whole.inside
    if inside is None or not inside.n:
        return ""
    return ngettext(
        "Projections of one stock err together, so luck is judged by stocks: with %(n)d stock it "
        "alone would keep %(lo)d to %(hi)d of 100 for the third vessel.",
        "Projections of one stock err together, so luck is judged by stocks: with %(n)d stocks it "
        "alone would keep %(lo)d to %(hi)d of 100 for the third vessel.",
        whole.stocks,
    ) % {"n": whole.stocks, "lo": round(inside.luck_lo * 100), "hi": round(inside.luck_hi * 100)}


def slots_picture(whole: Tally) -> SafeString:
    """Where in its range the truth fell."""
    counts = ", ".join(str(count) for count in whole.slots)
    said = _("Ten slots from sooner to later: %(counts)s. Even would be %(even)s in each") % {
        "counts": counts,
        "even": number(sum(whole.slots) / len(whole.slots), 1),
    }
    words = SlotWords(_("ran out sooner"), _("as likely"), _("later than we dared say"))
    return mark_safe(slots_svg(whole.slots, whole.slot_lo, whole.slot_hi, words, sentence=said))


def slots_words(whole: Tally) -> tuple[str, str]:
    """What the slots say, and what stands out."""
    even = number(sum(whole.slots) / len(whole.slots), 1)
    said = _(
        "If we knew exactly how sure to be, each slot would hold about %(even)s; luck lets it lie "
        "in the pale band."
    ) % {"even": even}
    first, last = whole.slots[0], whole.slots[-1]
    if first > whole.slot_hi and first >= last:
        return said, _("Things run out sooner than our earliest day too often.")
    if last > whole.slot_hi:
        return said, _("Things last longer than our latest day too often.")
    return said, ""


def span(page: ReportPage) -> int:
    """Days to each side of the likely day that hold all beads."""
    days = [bead.off_days for one in page.judged for bead in one.line.beads]
    return span_of(days)


def beads_axis(days: int) -> SafeString:
    """The axis above the beads."""
    return mark_safe(
        beads_axis_svg(
            days,
            _("%(n)d days sooner") % {"n": days},
            _("on the likely day"),
            _("%(n)d days later") % {"n": days},
        )
    )


def tens(page: ReportPage, days: int, now: datetime) -> list[Ten]:
    """Every item, with beads where it can be judged."""
    return [_ten(one, days, done_words(one.line, now)) for one in page.tens]


def _ten(one: TenLine, days: int, done: tuple[str, ...]) -> Ten:
    line = one.line
    n = line.whole.n
    of = ngettext(
        "%(shown)d of %(stocks)d stock, %(n)d projections",
        "%(shown)d of %(stocks)d stocks, %(n)d projections",
        line.whole.stocks,
    ) % {"shown": len(line.beads), "stocks": line.whole.stocks, "n": n}
    if not one.is_judged:
        few = ngettext(
            "%(n)d projection has met its truth. Too few to judge; its strip says so.",
            "%(n)d projections have met their truth. Too few to judge; its strip says so.",
            n,
        ) % {"n": n}
        return Ten(line.name, of, None, few, "", "", _("Judged from ten on"), "", done)
    inside = line.whole.inside
    return Ten(
        name=line.name,
        of=of,
        picture=_beads(one, days) if line.beads else None,
        few="" if line.beads else _("None of its stocks has run out yet: all lasted beyond."),
        inside=_("%(a)d of %(n)d inside,") % {
            "a": inside.inside if inside else 0,
            "n": inside.n if inside else 0,
        },
        middle=_middle(line.whole),
        compared=_compared(line.whole),
        verdict=_verdict_of(line.whole),
        done=done,
    )  # fmt: skip


def _beads(one: TenLine, days: int) -> SafeString:
    spots = [Spot(bead.off_days, bead.is_inside) for bead in one.line.beads]
    said = _("%(name)s: days sooner (−) or later than likely: %(days)s") % {
        "name": one.line.name,
        "days": ", ".join(number(spot.off_days, 0) for spot in spots),
    }
    return mark_safe(beads_svg(spots, one.lo_days, one.hi_days, days, sentence=said))


def _middle(whole: Tally) -> str:
    if whole.early_days is None:
        return ""
    days = round(whole.early_days)
    if not days:
        return _("middle on the likely day")
    way = (
        ngettext("middle %(n)d day later", "middle %(n)d days later", abs(days))
        if days > 0
        else ngettext("middle %(n)d day sooner", "middle %(n)d days sooner", abs(days))
    )
    return way % {"n": abs(days)}


def _compared(whole: Tally) -> str:
    closer = whole.closer_than_plan
    if closer is None:
        return _("The plan alone was not kept beside it")
    share = number(abs(closer) * 100, 0)
    if closer < 0:
        return _("No better than plan alone: %(n)s %% worse") % {"n": share}
    return _("%(n)s %% closer than plan alone") % {"n": share}


def _verdict_of(whole: Tally) -> str:
    return {
        "too_narrow": _("Its range is too narrow"),
        "too_wide": _("Its range is wider than it need be"),
        "too_few": _("Too few stocks to say more"),
    }.get(whole.verdict, "")


def came_to(row: ScoredForecast) -> str:
    """What came of one projection."""
    if row.truth == "not_scored":
        return _("not scored: %(why)s") % {"why": why_not(row.why_not)}
    if row.truth == "still_left":
        return _("still left after the whole range")
    return _("ran out")


def signed_days(days: float | None) -> str:
    """+1.5, −2, or a dash where nothing was scored [days]."""
    if days is None:
        return "–"
    text = number(days, 1)
    return text if text.startswith("−") or text == "0" else f"+{text}"


def plain_days(days: float | None) -> str:
    """1.5, or a dash where nothing was scored [days]."""
    return "–" if days is None else number(days, 1)


def cells(whole: Tally) -> list[str]:
    """One line of the table."""
    kept = whole.inside
    return [
        number(whole.n),
        number(whole.stocks),
        f"{kept.inside} / {kept.n}" if kept and kept.n else "–",
        f"{number(kept.luck_lo * 10, 1)} – {number(kept.luck_hi * 10, 1)}"
        if kept and kept.n
        else "–",
        signed_days(whole.early_days),
        plain_days(whole.off_days),
        plain_days(whole.crps_days),
        plain_days(whole.plan_crps_days),
    ]


def every_row(row: ScoredForecast) -> dict[str, object]:
    """One projection as a line of the list."""
    return {
        "one": row,
        "came": came_to(row),
        "early": signed_days(row.early_days),
        "error": plain_days(row.crps_days),
        "plan_error": plain_days(row.plan_crps_days),
    }
