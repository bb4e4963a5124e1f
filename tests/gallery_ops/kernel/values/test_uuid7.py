"""Are our ids those of the standard?"""

from datetime import UTC, datetime

import pytest
from hypothesis import given

from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.uuid7 import made_at, parse_uuid7, uuid7
from tests.strategies import INSTANTS


def test_the_example_of_the_standard() -> None:
    """RFC 9562, appendix A.6: 2022-02-22 14:22:22.00 GMT-05:00.

    There rand_a is CC3 and rand_b 18C4DC0C0C07398F.
    """
    drawn = {12: 0xCC3, 62: 0x18C4DC0C0C07398F}
    made = uuid7(datetime(2022, 2, 22, 19, 22, 22, tzinfo=UTC), drawn.__getitem__)
    assert str(made) == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
    assert parse_uuid7("017F22E2-79B0-7CC3-98C4-DC0C0C07398F") == made


@given(INSTANTS)
def test_it_carries_its_time_to_the_millisecond(at: datetime) -> None:
    made = uuid7(at)
    assert made_at(made) == at.replace(microsecond=at.microsecond // 1000 * 1000)
    assert parse_uuid7(str(made)) == made


def test_ids_differ_within_a_millisecond_and_sort_by_time() -> None:
    at = datetime(2026, 3, 12, 8, 8, tzinfo=UTC)
    assert len({uuid7(at) for _ in range(1000)}) == 1000
    assert uuid7(at) < uuid7(at.replace(minute=9))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "x",
        "{017f22e2-79b0-7cc3-98c4-dc0c0c07398f}",
        "017f22e279b07cc398c4dc0c0c07398f",
        "017f22e2-79b0-4cc3-98c4-dc0c0c07398f",
        "017f22e2-79b0-7cc3-18c4-dc0c0c07398f",
    ],
)
def test_what_is_no_id_of_version_seven_is_refused(text: str) -> None:
    with pytest.raises(OutOfRange, match="version 7"):
        parse_uuid7(text)


def test_times_outside_are_refused() -> None:
    with pytest.raises(OutOfRange):
        uuid7(datetime(1969, 12, 31, tzinfo=UTC))
    with pytest.raises(OutOfRange):
        uuid7(datetime(2026, 3, 12))  # noqa: DTZ001
