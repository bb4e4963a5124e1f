"""What would a glass of another size get of each plan? Proposed only; somebody takes it or not.

Doses and gas follow the water, food follows the animals. As a first figure both are taken in
proportion (common practice, no source); plants, current and appetite say what is right.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.quantity import Quantity, quantity
from inventory.models import UsePlan
from inventory.queries.plans import planned_by, plans_in_force
from inventory.services.new_glass import scaled_base
from tanks.models import Tank
from tanks.science.geometry import working_volume_ul

BY_WATER = ("dose", "gas")


@dataclass(frozen=True, slots=True)
class Proposal:
    """A plan in force, what it gives on the next day on which it gives anything, and in proportion.

    ``ratio`` is the share of the amount that is proposed.
    """

    plan: UsePlan
    now: Quantity
    scaled: Quantity
    ratio: Fraction


def water_ratio(tank: Tank, sizes_mm: tuple[int, int, int]) -> Fraction:
    """Working volume of a glass of these outer sizes, against that of the tank."""
    return Fraction(
        working_volume_ul(*sizes_mm),
        working_volume_ul(tank.length_mm, tank.width_mm, tank.height_mm),
    )


def proposals(
    showroom: Showroom, tank: Tank, today: date, *, water: Fraction, animals: Fraction
) -> list[Proposal]:
    """Each plan in force of the tank that would give something; two queries."""
    found = []
    for plan in plans_in_force(showroom, today, tank_ids=[tank.pk]):
        ratio = water if plan.purpose in BY_WATER else animals
        week = (planned_by(plan, today + timedelta(days=n)) for n in range(7))
        base = next((amount for amount in week if amount), 0)
        scaled = scaled_base(base, ratio)
        if scaled:
            dimension = plan.item.dimension
            found.append(
                Proposal(plan, quantity(dimension, base), quantity(dimension, scaled), ratio)
            )
    return found
