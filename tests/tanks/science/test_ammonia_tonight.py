"""Is the night's pH taken, and the right level told?"""

import pytest

from tanks.science.ammonia_tonight import PhRead, level_of, tonight


def test_the_same_kit_number_is_harmless_by_day_and_not_by_night() -> None:
    # Un-ionised part at 25 C: 0.56 % at pH 7.0, 5.37 % at pH 8.0 (Emerson et al. 1975, as quoted).
    by_day = tonight(0.4, [PhRead(3, 7.0)], degc=25.0, day=4)
    by_night = tonight(0.4, [PhRead(3, 7.0), PhRead(3.4, 8.0, is_night=True)], degc=25.0, day=4)
    assert by_day is not None
    assert by_night is not None
    assert by_day.un_ionised_mg_n_per_l == pytest.approx(0.4 * 0.0056, rel=0.01)
    assert (by_day.level, by_day.has_night) == ("", False)
    assert by_night.un_ionised_mg_n_per_l == pytest.approx(0.4 * 0.0537, rel=0.01)
    assert (by_night.level, by_night.ph, by_night.has_night) == ("act", 8.0, True)


def test_an_old_ph_tells_nothing_of_tonight() -> None:
    assert tonight(0.4, [PhRead(0, 8.0)], degc=25.0, day=14.1) is None
    assert tonight(0.4, [PhRead(5, 8.0)], degc=25.0, day=4) is None


@pytest.mark.parametrize(
    ("mg", "level"), [(0.0124, ""), (0.0125, "watch"), (0.02, "act"), (0.05, "emergency")]
)
def test_a_level_begins_at_its_figure(mg: float, level: str) -> None:
    assert level_of(mg) == level
