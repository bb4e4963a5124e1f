"""A small gallery with stock for the tests of projections: built by services, a day at a time."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta

from gallery_ops.kernel.models import Membership, Person, Role, Showroom
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Container, Item, Scale, Supplier
from inventory.services.containers import NewContainer, receive
from inventory.services.cylinders import NewCylinder, add_cylinder
from inventory.services.items import add_item, add_scale, add_supplier, add_supplier_item
from inventory.services.plans import PlanLine, set_plan
from inventory.services.supplies import connect_supply
from inventory.services.use import skip_use, use_dose, use_food
from inventory.services.weighing import mass_of, record_weighing
from tanks.models import Room, Tank, Zone
from tanks.services.placements import add_tank
from tanks.services.places import add_position, add_room, add_zone
from tests.inventory.projections import many_days

TODAY = date(2026, 3, 12)


def moment(day: date, hour: int = 8, minute: int = 0) -> datetime:
    """A moment in March 2026 in London, where local time is UTC until the 29th."""
    return datetime.combine(day, time(hour, minute), tzinfo=UTC)


NOW = moment(TODAY, 8, 8)


@dataclass
class World:
    """A showroom with an owner, tanks in one zone, and items as they are asked for."""

    start: date
    showroom: Showroom
    by: Membership
    room: Room
    zone: Zone
    tanks: list[Tank] = field(default_factory=list)

    @property
    def begins(self) -> datetime:
        """Before the first round of the first day."""
        return moment(self.start, 6)

    def add_tanks(self, count: int) -> list[Tank]:
        """So many 60 L tanks with a place each."""
        new = []
        for n in range(len(self.tanks) + 1, len(self.tanks) + count + 1):
            place = add_position(
                room=self.room,
                zone=self.zone,
                name=f"place {n}",
                walking_order=n,
                by=self.by,
                at=self.begins,
            )
            new.append(
                add_tank(
                    showroom=self.showroom,
                    code=f"T{n:03d}",
                    length_mm=600,
                    width_mm=300,
                    height_mm=360,
                    glass_mm=6,
                    by=self.by,
                    at=self.begins,
                    position=place,
                )
            )
        self.tanks += new
        return new

    def plan(
        self, item: Item, purpose: str, *lines: PlanLine, tanks: list[Tank] | None = None
    ) -> None:
        """The same plan for all tanks, or for these."""
        for tank in self.tanks if tanks is None else tanks:
            set_plan(
                tank=tank,
                item=item,
                purpose=purpose,
                lines=lines,
                from_on=self.start,
                by=self.by,
                at=self.begins,
            )

    def item(self, code: str, kind: str, dimension: str, **more: object) -> Item:
        """An item."""
        return add_item(
            showroom=self.showroom,
            code=code,
            name=code.capitalize(),
            kind=kind,
            dimension=dimension,
            by=self.by,
            at=self.begins,
            **more,  # type: ignore[arg-type]
        )

    def supplier(self, item: Item, pack: Volume | Mass, **more: object) -> Supplier:
        """Somebody who brings it on Tuesday and Friday, seven days after an order."""
        settings: dict[str, object] = {
            "name": f"Brackwater {item.code}",
            "delivery_weekdays": "0100100",
            "stated_lead_days": 7,
        } | more
        supplier = add_supplier(
            showroom=self.showroom,
            by=self.by,
            at=self.begins,
            **settings,  # type: ignore[arg-type]
        )
        add_supplier_item(supplier=supplier, item=item, pack=pack, by=self.by, at=self.begins)
        return supplier

    def bottle(self, item: Item, litres: int = 1, content: Volume | None = None) -> Container:
        """A pump bottle that feeds the zone."""
        made = receive(
            item=item,
            containers=[
                NewContainer(
                    "bottle", Volume.l(litres), content=content, tare=Mass.g(80), name="bottle",
                    press_nominal_ul=1000,
                )
            ],
            by=self.by, at=self.begins,
        )[0]  # fmt: skip
        connect_supply(container=made, purpose="dose", zone=self.zone, by=self.by, at=self.begins)
        return made

    def stored(self, item: Item, kind: str, capacity: Volume | Mass, count: int = 1) -> None:
        """Full containers in the store."""
        receive(
            item=item,
            containers=[NewContainer(kind, capacity, name="store")] * count,
            by=self.by,
            at=self.begins,
        )

    def tub(
        self, item: Item, grams: int, opened: date, expires_on: date | None = None
    ) -> Container:
        """A tub that feeds the zone since a day."""
        made = receive(
            item=item, containers=[NewContainer("tub", Mass.g(grams), tare=Mass.g(30), name="tub")],
            by=self.by, at=self.begins, expires_on=expires_on,
        )[0]  # fmt: skip
        connect_supply(
            container=made, purpose="food", zone=self.zone, by=self.by, at=moment(opened, 6)
        )
        return made

    def cylinder(
        self, item: Item, tank: Tank | None, fill_g: int = 2000, serial: str = "S1"
    ) -> Container:
        """A cylinder under a tank, or full in the store."""
        return add_cylinder(
            item=item,
            cylinder=NewCylinder(
                serial=serial, tare=Mass.g(3000), fill=Mass.g(fill_g), name=f"cylinder {serial}"
            ),
            tank=tank,
            by=self.by,
            at=self.begins,
        )

    def scale(self, noise_g: int = 1) -> Scale:
        """A scale that weighs to the gram."""
        return add_scale(
            showroom=self.showroom,
            name=f"scale {noise_g}",
            by=self.by,
            at=self.begins,
            noise_sd=Mass.g(noise_g),
            resolution=Mass.g(1),
        )

    def weigh(self, container: Container, scale: Scale, base: float, at: datetime) -> None:
        """The scale shows so much content [base units], to the gram."""
        container.refresh_from_db()
        assert container.tare_mg is not None
        whole_g = round((mass_of(container, round(base)).mg + container.tare_mg) / 1000)
        record_weighing(container=container, gross=Mass.g(whole_g), scale=scale, by=self.by, at=at)

    def dose_day(self, item: Item, day: date, *, skip: int = 0, presses: int = 3) -> None:
        """The round of a day: all tanks dosed, the first ``skip`` of them skipped."""
        for n, tank in enumerate(self.tanks):
            at = moment(day, 9, n % 60)
            if n < skip:
                skip_use(tank=tank, item=item, purpose="dose", by=self.by, at=at)
            else:
                use_dose(tank=tank, item=item, presses=presses, by=self.by, at=at)

    def dose_days(self, item: Item, days: list[date], *, presses: int = 3) -> None:
        """The same for several days in which nothing else happens, in a few statements."""
        doses = [
            (tank, moment(day, 9, n % 60), day) for day in days for n, tank in enumerate(self.tanks)
        ]
        many_days.dose(self.showroom, item, sorted(doses, key=lambda d: d[1]), presses, self.by)

    def feed_day(self, item: Item, day: date, grams: str) -> None:
        """All tanks fed."""
        for n, tank in enumerate(self.tanks):
            use_food(
                tank=tank, item=item, given=Mass.g(grams), by=self.by, at=moment(day, 9, n % 60)
            )

    def days(self) -> list[date]:
        """From the first day until yesterday."""
        return [self.start + timedelta(days=n) for n in range((TODAY - self.start).days)]


def a_world(days: int = 28, tanks: int = 2, code: str = "undershore") -> World:
    """An empty gallery that opened so many days ago."""
    start = TODAY - timedelta(days=days)
    begins = moment(start, 5)
    showroom = Showroom.objects.create(
        code=code,
        name="Undershore",
        zone="Europe/London",
        currency="GBP",
        country="GB",
        opens_at=time(10),
        closes_at=time(18),
        round_from_at=time(7),
    )
    person = Person.objects.create_user(f"maud.{code}", "Maud Ellerkamp", "a-long-password-1")
    by = Membership.objects.create(
        showroom=showroom, person=person, role=Role.OWNER, from_at=begins
    )
    room = add_room(showroom=showroom, name="Hall", volume_m3=300, by=by, at=begins)
    zone = add_zone(showroom=showroom, code="A", by=by, at=begins)
    world = World(start, showroom, by, room, zone)
    world.add_tanks(tanks)
    return world
