"""Do lamps, gas, heater and filter fit? A table of timers, with the hours counted by the minute."""

from __future__ import annotations

import pytest

from tanks.science.interlocks import Hours, Known, found


def minutes(hours: Hours) -> set[int]:
    """Each minute of the day in which a timer is on, the plain way."""
    begin = round(hours.on_h * 60)
    return {(begin + n) % 1440 for n in range(round(hours.long_h * 60))}


TIMERS = [Hours(10, 18), Hours(22, 6), Hours(0, 24), Hours(9, 17), Hours(17.5, 23.25), Hours(5, 8)]


@pytest.mark.parametrize("light", TIMERS)
@pytest.mark.parametrize("gas", TIMERS)
def test_the_overlap_is_the_one_that_counting_minutes_gives(light, gas):
    both = len(minutes(light) & minutes(gas)) / 60
    assert light.overlap_h(gas) == pytest.approx(both)


@pytest.mark.parametrize(
    ("gas", "what"),
    [
        (Hours(8.5, 17), []),  # on 1.5 h before, off an hour before: as usual
        (Hours(10, 18), []),
        (Hours(12, 17), ["light_without_gas"]),  # two hours late and one early
        (Hours(9, 20), ["gas_after_light"]),
        (Hours(6, 17), ["gas_long_before"]),
        (Hours(19, 3), ["light_without_gas", "gas_after_light"]),  # by night, as if turned round
        (Hours(0, 24), ["gas_after_light", "gas_long_before"]),  # never off
    ],
)
def test_a_gas_timer_beside_lamps_from_ten_to_six(gas, what):
    known = Known(has_co2=True, light=Hours(10, 18), gas=gas)
    assert [one.what for one in found(known)] == what


@pytest.mark.parametrize(
    ("known", "what"),
    [
        (Known(), []),
        (Known(has_co2=True, light=Hours(10, 18)), []),  # no timer known is no finding
        (Known(light=Hours(10, 18), gas=Hours(12, 17)), []),  # it does not live on gas
        (Known(heater_w=100, water_l=100), []),
        (Known(heater_w=25, water_l=160), ["weak_heater"]),
        (Known(flow_now_l_per_h=401, flow_clean_l_per_h=800), []),
        (Known(flow_now_l_per_h=399, flow_clean_l_per_h=800), ["low_flow"]),
    ],
)
def test_what_is_not_known_is_no_finding(known, what):
    assert [one.what for one in found(known)] == what
