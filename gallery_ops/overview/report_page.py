"""May a projection be believed? The report card as its page needs it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from statistics import median

from django.core.paginator import Page, Paginator

from gallery_ops.kernel.models import Showroom
from inventory.queries.report_card import (
    CardLine,
    ReportCard,
    report_card,
)
from inventory.queries.report_every import ScoredForecast, scored_forecasts

PER_PAGE = 50
JUDGED_FROM = 10
"""An item is judged from so many projections that met their truth on."""


@dataclass(frozen=True, slots=True)
class TenLine:
    """One item with its beads. ``lo_days``, ``hi_days``: its middle range beside the likely day."""

    line: CardLine
    is_judged: bool
    lo_days: float
    hi_days: float


@dataclass(frozen=True, slots=True)
class ReportPage:
    """The card, its lines that can be judged first, and how many were scored in all."""

    card: ReportCard
    tens: tuple[TenLine, ...]
    unscored: int

    @property
    def judged(self) -> tuple[TenLine, ...]:
        """Lines with ten or more."""
        return tuple(one for one in self.tens if one.is_judged)


def report_page(showroom: Showroom, at: datetime) -> ReportPage:
    """The report card of the last year; constant queries."""
    card = report_card(showroom, at)
    return ReportPage(
        card=card,
        tens=tuple(_ten(line) for line in card.items),
        unscored=sum(one.n for one in card.not_scored),
    )


def every_forecast(showroom: Showroom, at: datetime, number: int | str = 1) -> Page[ScoredForecast]:
    """Every projection of the last year that met its truth or could not be scored, by page."""
    return Paginator(scored_forecasts(showroom, at), PER_PAGE).get_page(number)


def _ten(line: CardLine) -> TenLine:
    return TenLine(
        line=line,
        is_judged=line.whole.n >= JUDGED_FROM,
        lo_days=median(bead.lo_days for bead in line.beads) if line.beads else 0.0,
        hi_days=median(bead.hi_days for bead in line.beads) if line.beads else 0.0,
    )
