"""What was found is answered on the alert's own page; what was typed stays."""

from __future__ import annotations

import re
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel.models import Alert
from inventory.models import Container, StockFinding
from inventory.queries.keys import container_key
from tests.builders.fleet import AT, Fleet, a_fleet
from tests.gallery_ops.api.asking import a_browser

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet() -> Fleet:
    return a_fleet(2, with_work=False)


@pytest.fixture
def owner(fleet: Fleet) -> Client:
    return a_browser(fleet.owner)


def an_alert(fleet: Fleet) -> tuple[Alert, Container]:
    container = Container.objects.filter(showroom=fleet.showroom, kind="bottle").earliest("pk")
    finding = {
        "what": "finding", "name": "sudden_loss", "dimension": "volume",
        "from": "2026-03-02", "to": "2026-03-08", "within": 0.97, "chance": 0.9,
        "amount": {"lo": 90_000, "mid": 120_000, "hi": 150_000}, "rate_per_day": None,
        "readings": [
            {"on": "2026-03-01", "kind": "weigh", "container": "b", "value": 500_000,
             "expected": 501_000},
            {"on": "2026-03-09", "kind": "weigh", "container": "b", "value": 350_000,
             "expected": 470_000},
        ],
        "usual_base": 3_000,
    }  # fmt: skip
    alert = Alert.objects.create(
        showroom=fleet.showroom, kind="stock_finding", harm_class="B", subject_kind="container",
        cause_key=f"stock_finding:{container_key(container.pk)}",
        subject_key=container_key(container.pk), because=[finding], opened_at=AT,
        seen_again_at=AT, sentence="About 120 mL of the bottle went at once.",
    )  # fmt: skip
    return alert, container


def test_the_page_says_what_was_measured_and_what_each_answer_does(
    fleet: Fleet, owner: Client
) -> None:
    alert, _ = an_alert(fleet)
    html = owner.get(reverse("alert_detail", args=[alert.uid])).content.decode()
    for words in ("120 mL", "90 mL", "150 mL", "Measured", "470 mL", "Nothing found"):
        assert words in html
    assert "that reading hardly counts any more" in html
    assert 'value="2026-03-02"' in html


def test_an_answer_is_kept_and_said(fleet: Fleet, owner: Client) -> None:
    alert, container = an_alert(fleet)
    shown = owner.get(reverse("alert_detail", args=[alert.uid])).content.decode()
    action = re.search(r'name="action_id" value="([^"]+)"', shown)
    assert action
    said = {
        "what": "spilled", "from_on": "2026-03-05", "last_on": "2026-03-06", "words": "the cap",
        "action_id": action[1],
    }  # fmt: skip
    for _ in range(2):  # pressed twice it is one answer
        answer = owner.post(reverse("alert_found", args=[alert.uid]), said)
        assert answer.status_code == 302
    row = StockFinding.objects.get(container=container)
    assert (row.what, row.from_on, row.to_on) == ("spilled", date(2026, 3, 5), date(2026, 3, 7))
    assert row.words == "the cap"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"what": "", "from_on": "2026-03-05"}, "not one of the answers"),
        ({"what": "leak", "from_on": ""}, "First day"),
        ({"what": "leak", "from_on": "5 March"}, "is no day"),
        ({"what": "leak", "from_on": "2999-01-01"}, "has not come yet"),
        ({"what": "leak", "from_on": "2026-03-05", "last_on": "2026-03-01"}, "before the first"),
    ],
)
def test_what_cannot_be_is_said_and_what_was_typed_stays(
    fleet: Fleet, owner: Client, typed: dict[str, str], said: str
) -> None:
    alert, _ = an_alert(fleet)
    answer = owner.post(reverse("alert_found", args=[alert.uid]), {**typed, "words": "kept words"})
    assert answer.status_code == 422
    html = answer.content.decode()
    assert said in html
    assert "kept words" in html
    assert not StockFinding.objects.exists()
