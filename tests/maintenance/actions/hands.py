"""Who holds a tablet of the basement? Six digits without the network, five tries, a lock; C3 work.

The tablet here knows what a pack ships, the salt of each person and a verifier under its own salt,
and nothing else. Whose thumb it was is written down apart: the books are held against that.
"""

from __future__ import annotations

import hmac
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from gallery_ops.kernel.models import Device, Membership, SignInTry
from gallery_ops.kernel.services.pins import MOST_WRONG, pin_base, pin_verifier, set_pin
from gallery_ops.kernel.services.tablet_tries import ToldTry
from maintenance.models import DueTask, TaskTemplate
from tests.maintenance.actions.saying import AT, ON, Morning
from tests.maintenance.house import a_carer

PINS = ("294063", "718204", "530917")
WRONG = "000001"
EARLY = timedelta(hours=3)
STEP = timedelta(minutes=2)
RESTS_FOR = 3
"""So many steps a name rests in this story; five minutes are more than two of them."""


@dataclass(frozen=True)
class Crew:
    """Three people who are signed off for all, with PINs, and a task of each tank that needs C3."""

    people: tuple[Membership, ...]
    c3: dict[str, DueTask]
    bases: dict[tuple[int, str], bytes]
    """What a PIN makes of a person's salt, so that it is worked out once."""


def a_crew(morning: Morning) -> Crew:
    """Taken on, signed off, and each with a PIN of their own."""
    house = morning.house
    names = ("Bram Orchard", "Odile Marsh", "Runa Aldersley")
    people = tuple(a_carer(house, name, "C1", "C2", "C3") for name in names)
    for member, pin in zip(people, PINS, strict=True):
        set_pin(membership=member, pin=pin, by=house.owner, at=AT)
    template = TaskTemplate.objects.filter(showroom=house.showroom, skill="C3").earliest("pk")
    c3 = {
        code: DueTask.objects.create(
            showroom=house.showroom, template=template, tank=house.tanks[code], subject_key=code,
            occurrence_key="x", due_on=ON, due_at=AT, state="open",
        )
        for code in ("T01", "T02")
    }  # fmt: skip
    bases = {
        (n, pin): pin_base(pin, bytes(member.pin_salt))
        for n, member in enumerate(people)
        for pin in (*PINS, WRONG)
    }
    return Crew(people, c3, bases)


@dataclass
class Hands:
    """Whose hands a tablet is in: what the tablet believes, and beside it what was so.

    holder : who gave the right digits last; None while it is locked. proof : as the tablet says it.
    book : whom the gallery itself checked last on this tablet.
    """

    crew: Crew
    device: Device
    holder: int | None = 0
    proof: str = "pin"
    book: int | None = None
    step: int = 0
    wrong: dict[int, int] = field(default_factory=dict)
    rests: dict[int, int] = field(default_factory=dict)
    told: list[ToldTry] = field(default_factory=list)

    def now(self) -> datetime:
        """Each look at the clock is two minutes after the last."""
        self.step += 1
        self.rests = {who: left - 1 for who, left in self.rests.items() if left > 1}
        return AT - EARLY + self.step * STEP

    def try_pin(self, who: int, pin: str) -> bool:
        """Six digits without the network; a name that rests is not even looked at."""
        at, member = self.now(), self.crew.people[who]
        if who in self.rests:
            return False
        verifier = pin_verifier(member, self.device)
        assert verifier is not None
        own = hmac.digest(bytes(self.device.pin_salt), self.crew.bases[who, pin], "sha256")
        right = hmac.compare_digest(own, verifier)
        self.told.append(ToldTry(member.person.uid, at, right, bytes(member.pin_salt).hex()))
        if right:
            self.holder, self.proof, self.wrong[who] = who, "pin", 0
            return True
        self.wrong[who] = self.wrong.get(who, 0) + 1
        if self.wrong[who] == MOST_WRONG:
            self.wrong[who], self.rests[who] = 0, RESTS_FOR
        return False

    def sign_in(self, who: int) -> None:
        """Where there is a network for a moment the gallery checks it and writes it in its book."""
        member = self.crew.people[who]
        SignInTry.objects.create(
            showroom=member.showroom, person=member.person, device=self.device, at=self.now(),
            right=True,
        )  # fmt: skip
        self.holder = self.book = who
        self.proof = "session"

    def lock(self) -> None:
        """Nobody enters anything until somebody gives the right digits."""
        self.holder = None
