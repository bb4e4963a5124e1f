"""Amounts, moments and reasons in words, as every page says them."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone

from gallery_ops.kernel.values.money import Money
from gallery_ops.kernel.values.quantity import Mass, Pieces, Volume
from gallery_ops.web import words
from gallery_ops.web.because import answers

NOW = datetime(2026, 3, 12, 8, 8, tzinfo=UTC)  # a Thursday; London shows the same hour


@pytest.fixture(autouse=True)
def _in_london() -> Iterator[None]:
    words.use_mark(".")
    with timezone.override(ZoneInfo("Europe/London")):
        yield
    words.use_mark(".")


def test_an_amount_speaks_in_the_decimal_mark_of_the_showroom() -> None:
    assert words.amount(Volume(2_710_000)) == "2.71 L"
    words.use_mark(",")
    assert words.amount(Volume(2_710_000)) == "2,71 L"
    assert words.amount(Mass(40)) == "40 mg"
    assert words.amount(Pieces(7)) == "7 pcs"
    assert words.number(Decimal("12.5")) == "12,5"
    assert words.number(12_480) == "12\u202f480"


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        (2710.0, "ml", "2.71 L"),
        (196.0, "ml", "196 mL"),
        (0.924, "ml", "0.924 mL"),
        (1240.0, "g", "1,240 g"),
        (0.0, "ml", "0 mL"),
        (-14.2, "g", "−14.2 g"),
        (40.0, "tests", "40 tests"),
    ],
)
def test_an_estimate_shows_about_three_figures(value: float, unit: str, said: str) -> None:
    assert words.estimate(value, unit) == said


@pytest.mark.parametrize(
    ("moment", "said"),
    [
        (NOW - timedelta(minutes=9), "07:59"),
        (NOW - timedelta(days=1), "yesterday 08:08"),
        (NOW - timedelta(days=3), "Mon 08:08"),
        (NOW - timedelta(days=30), "10 February"),
        (NOW - timedelta(days=400), "5 February 2025"),
        (date(2026, 3, 12), "today"),
        (date(2026, 3, 13), "tomorrow"),
        (date(2026, 3, 18), "Wed 18 March"),
    ],
)
def test_a_moment_is_said_as_near_as_it_is(moment: date, said: str) -> None:
    assert words.when(moment, NOW) == said


def test_a_moment_is_shown_on_the_clocks_of_the_gallery() -> None:
    """Clocks go forward on 29 March 2026 at 01:00 UTC (EU rule, last Sunday of March)."""
    assert words.clock_time(datetime(2026, 3, 29, 0, 30, tzinfo=UTC)) == "00:30"
    assert words.clock_time(datetime(2026, 3, 29, 1, 30, tzinfo=UTC)) == "02:30"
    late = datetime(2026, 3, 11, 23, 30, tzinfo=UTC)
    with timezone.override(ZoneInfo("Asia/Tokyo")):
        assert words.when(late, NOW) == "08:30"  # already the 12th there


@pytest.mark.parametrize(
    ("gone", "said"),
    [
        (timedelta(seconds=20), "just now"),
        (timedelta(minutes=1), "1 minute ago"),
        (timedelta(hours=5), "5 hours ago"),
        (timedelta(days=1), "yesterday"),
        (timedelta(days=9), "9 days ago"),
    ],
)
def test_how_long_ago(gone: timedelta, said: str) -> None:
    assert words.ago(NOW - gone, NOW) == said


@pytest.mark.parametrize(
    ("share", "said"),
    [(0.0, "0 %"), (0.002, "under 1 %"), (0.014, "1.4 %"), (0.06, "6 %"), (0.999, "over 99 %")],
)
def test_a_chance_is_never_rounded_to_certainty(share: float, said: str) -> None:
    assert words.percent(share) == said


def test_the_nine_reasons_of_a_forecast_are_sentences_in_their_order() -> None:
    ml = {"unit": "ml"}
    said = answers(
        [
            {
                "what": "last_measured",
                "on": "2026-03-09",
                "n": 23,
                "level": {"amount": 2710.0, **ml},
                "level_sd": {"amount": 14.0, **ml},
            },
            {"what": "plan", "per_day": {"amount": 196.0, **ml}, "lines": 18},
            {"what": "learned", "factor": 0.97, "from": 0.95, "to": 0.98, "n": 23},
            {"what": "changes_ahead", "changes": []},
            {"what": "skipped", "ticked": True, "skipped": 0.014, "unticked": 0.0, "n": 1080},
            {"what": "deliveries", "known": False},
            {"what": "reorder_point", "known": False},
            {"what": "on_order", "kept": False},
            {"what": "past_errors", "n": 0},
        ]
    )
    assert [a.term for a in said][:3] == ["Last measured", "Plan", "What we learned"]
    assert said[0].text == "Mon 9 March, 23 in all. Level now 2.71 L, ± 14 mL"
    assert said[1].text == "196 mL a day over 18 lines of the plan"
    assert said[2].text == "Use is 0.97 of plan (0.95 to 0.98, n = 23)"
    assert said[5].text == "No delivery known: ask the supplier"


def test_a_reason_without_a_sentence_is_shown_and_not_swallowed() -> None:
    (said,) = answers([{"what": "weighed_use", "ratio": 1.4, "nights": 9}])
    assert (said.term, said.text) == ("Weighed use", "ratio 1.4, nights 9")
    assert answers(None) == []


@pytest.mark.parametrize(
    ("cents", "currency", "shown"),
    [
        (120450, "GBP", "£1,204.50"),
        (-240, "EUR", "−€2.40"),
        (300, "CHF", "CHF\u00a03.00"),
        (5, "GBP", "£0.05"),
        (800, "JPY", "JP¥800"),
    ],
)
def test_a_price_carries_its_sign(cents: int, currency: str, shown: str) -> None:
    assert words.money(Money(cents, currency)) == shown
