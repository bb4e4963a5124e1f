"""What may a scale show for a container, and what is in it then?

Refusals say their numbers as they are to be typed, without thousands marks: a comma is a decimal
mark in every field.
"""

from __future__ import annotations

from fractions import Fraction

from gallery_ops.kernel.errors import Held, Refused
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Container, CylinderDetail, ItemKind, Scale

BELOW_EMPTY = Mass.g(20)
ABOVE_FULL = Mass.g(50)
"""How far a scale and a stamped tare may be off before a weighing is refused (common practice, no
source)."""

BRIM = Fraction(5, 4)
"""What a bottle, can, tub or bag holds to its brim, as a share of what is printed on it (common
practice, no source). Between full and brim a weighing is asked about, above it refused."""


def net_of(container: Container, net: Mass) -> int:
    """The content of so much mass in the item's base units; a scale's noise below 0 is nothing.

    A volume is the mass by the item's density, to the nearest microlitre.
    """
    mass = max(net.mg, 0)
    if container.item.dimension == "mass":
        return mass
    return round(Fraction(mass * 1_000, container.item.density_mg_per_ml))


def mass_of(container: Container, base: int) -> Mass:
    """The mass of so much content, to the nearest milligram."""
    if container.item.dimension == "mass":
        return Mass(base)
    return Mass(round(Fraction(base * container.item.density_mg_per_ml, 1_000)))


def empty_of(container: Container, regulator_on: bool) -> tuple[Mass, Mass]:
    """Tare, and the regulator that was on it (0 when it was off).

    Raises
    ------
    Refused
        ``not_weighed``, ``no_tare``, ``no_regulator_mass``.
    """
    if container.item.dimension == "piece":
        raise Refused(
            "not_weighed",
            f"{container.item.name} is counted in pieces.",
            {"gross": "No mass."},
            "Count it instead.",
        )
    if container.tare_mg is None:
        raise Refused(
            "no_tare",
            f"Nobody wrote down what {container} weighs when it is empty.",
            {"tare": "Needed to weigh it."},
            "Weigh an empty one of the same kind, or read the stamp, and enter that first.",
        )
    if not regulator_on:
        return Mass(container.tare_mg), Mass(0)
    detail = CylinderDetail.objects.filter(container=container).first()
    if detail is None:
        raise Refused(
            "no_regulator_mass",
            f"{container} is no cylinder.",
            {"regulator_on": "Only a cylinder has a regulator."},
            "Take the tick away.",
        )
    if detail.regulator_mg is None:
        raise Refused(
            "no_regulator_mass",
            f"Nobody wrote down what the regulator of {container} weighs.",
            {"regulator_on": "Its mass is not known."},
            "Take it off as you were trained and weigh without it, or enter its mass first.",
        )
    return Mass(container.tare_mg), Mass(detail.regulator_mg)


def allowed(container: Container, tare: Mass, regulator: Mass) -> tuple[Mass, Mass]:
    """Least and most that a scale may show for it.

    A 2 kg cylinder of 3,350 g tare with 412 g of regulator may show 3,742 to 5,812 g.
    """
    empty = tare + regulator
    least = max(empty.mg - BELOW_EMPTY.mg, 0)
    return Mass(least), empty + mass_of(container, container.capacity_base) + ABOVE_FULL


def check_gross(
    container: Container,
    gross: Mass,
    scale: Scale,
    tare: Mass,
    regulator: Mass,
    *,
    asked_again: bool,
) -> None:
    """Raise when this container cannot have weighed so much.

    Raises
    ------
    Refused
        ``above_scale``, ``below_empty``, ``above_full``; ``ask_full`` for a bottle between full and
        its brim, until somebody said that it is so.
    Held
        ``overfilled`` for a cylinder above its fill: kept for a person, never counted.
    """
    mark = container.showroom.decimal_mark
    least, most = allowed(container, tare, regulator)
    if scale.max_mg is not None and gross.mg > scale.max_mg:
        most_of_scale = Mass(scale.max_mg).text(mark, "g")
        raise Refused(
            "above_scale",
            f"Gross mass: {gross.text(mark, 'g')} is more than {scale} can weigh.",
            {"gross": f"Allowed on {scale}: up to {most_of_scale}."},
            "Check the number, or choose the scale that was used.",
        )
    if gross < least:
        _below_empty(container, gross, tare, regulator, mark)
    if gross > most:
        _above_full(container, gross, tare + regulator, asked_again, mark)


def _below_empty(container: Container, gross: Mass, tare: Mass, regulator: Mass, mark: str) -> None:
    kind = container.get_kind_display()
    least, most = allowed(container, tare, regulator)
    empty = (tare + regulator).text(mark, "g")
    if regulator.mg:
        parts = f"{tare.text(mark, 'g').removesuffix(' g')} + {regulator.text(mark, 'g')}"
        what = f"the empty {kind} with its regulator ({parts})"
        short = f"Empty with its regulator: {empty}."
    else:
        what = f"the empty {kind} ({empty})"
        short = f"Empty: {empty}."
    raise Refused(
        "below_empty",
        f"Gross mass: {gross.text(mark, 'g')} is less than {what}.",
        {"gross": short},
        f"Write {_range(least, most, mark)}, or choose another {kind}.",
    )


def _above_full(
    container: Container, gross: Mass, empty: Mass, asked_again: bool, mark: str
) -> None:
    kind = container.get_kind_display()
    full = empty + mass_of(container, container.capacity_base)
    said = f"Gross mass: {gross.text(mark, 'g')} is more than"
    if container.item.kind == ItemKind.GAS:
        raise Held(
            "overfilled",
            f"{said} the full {kind} ({full.text(mark, 'g')}).",
            {},
            "Weigh again. If it is true, the cylinder is overfilled: do not use or warm it, set it "
            "apart in an aired place away from people, and ring the supplier.",
        )
    brim = empty + mass_of(container, int(container.capacity_base * BRIM)) + ABOVE_FULL
    if gross > brim:
        least = Mass(max(empty.mg - BELOW_EMPTY.mg, 0))
        raise Refused(
            "above_full",
            f"{said} this {kind} weighs filled to its brim ({brim.text(mark, 'g')}).",
            {"gross": f"Allowed: {_range(least, brim, mark)}."},
            "Weigh again: is it this container, and is the tare right?",
        )
    if not asked_again:
        raise Refused(
            "ask_full",
            f"{said} this {kind} weighs full ({full.text(mark, 'g')}). Is it so?",
            {"gross": f"Full is {full.text(mark, 'g')}."},
            "If it was filled above its mark, say so; otherwise weigh again: is it this container, "
            "and is the tare right?",
        )


def _range(least: Mass, most: Mass, mark: str) -> str:
    return f"{least.text(mark, 'g').removesuffix(' g')} to {most.text(mark, 'g')}"
