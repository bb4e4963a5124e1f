"""Is a tank that is said to be empty empty by the books too?

Animals and plants that stand in the books are still to be fed, dosed and looked at. Either the
books are behind or the wrong tank was meant: a person says which.
"""

from __future__ import annotations

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.rights import roles_in_words
from inventory.queries.livestock import heads
from maintenance.actions.context import Said
from tanks.models import PlantGroup, Tank
from tanks.queries.glasses import glass_then

CODE = "not_empty"
MOST_NAMED = 3


def check_empty(said: Said, tank: Tank) -> None:
    """Raises Held ``not_empty`` where animals or plants are in this tank by the books of then."""
    if CODE in said.waived:
        return
    moment = said.done_at_corrected
    glass = glass_then(tank, moment)
    animals = [row for row in heads(said.showroom, moment, tank_ids=[glass.pk]) if row.count > 0]
    groups = (
        PlantGroup.objects.of(said.showroom)
        .at(moment)
        .filter(layout__in=glass.layouts.filter(voided_at=None).at(moment))
        .count()
    )
    if not animals and not groups:
        return
    named = [f"{row.count} {row.name}" for row in animals[:MOST_NAMED]]
    if len(animals) > MOST_NAMED:
        named.append("other animals")
    if groups:
        named.append(f"{groups} {'group' if groups == 1 else 'groups'} of plants")
    raise Held(
        CODE,
        f"By the books this tank is not empty: {', '.join(named)}.",
        remedy="It is kept, and the task stays due. Look which tank it was. If it is empty, write "
        "down where they went and take it out of service, and one of these lets the skip count: "
        f"{roles_in_words('correct')}.",
    )
