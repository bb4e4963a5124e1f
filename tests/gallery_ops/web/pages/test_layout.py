"""A rescape is driven from its brief to its label in one sitting, and nothing is typed twice."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from gallery_ops.kernel.values.quantity import Pieces
from inventory.models import Reservation
from inventory.services import containers, items
from inventory.services.reservations import reserve
from tanks.models import Layout, LayoutVersion, MaterialLine, PlantGroup, Species
from tanks.services.layouts import add_designer, add_plant_group, begin_layout
from tanks.services.publishing import give_public_code
from tests.builders.gallery import AT, a_person, a_tank, an_owner
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import signed_in

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 3, 12, 12, tzinfo=UTC)
CARPET, STEMS = "Eleocharis pusilla", "Hygrophila corymbosa"


class World:
    """An empty tank, two plants, six cups in the store of which four are kept for T03."""

    def __init__(self) -> None:
        self.tank = a_tank("T09")
        self.showroom = self.tank.showroom
        self.boss = an_owner(self.showroom)
        self.other = a_tank("T03", showroom=self.showroom)
        for name, common in ((CARPET, "dwarf hairgrass"), (STEMS, "hygrophila")):
            Species.objects.get_or_create(
                scientific_name=name, defaults={"vernacular_name": common, "kingdom": "plant"}
            )
        self.cups = items.add_item(
            showroom=self.showroom, code="cups", name="Plants in cups", kind="other",
            dimension="piece", by=self.boss, at=AT,
        )  # fmt: skip
        containers.receive(
            item=self.cups,
            containers=[containers.NewContainer(kind="box", capacity=Pieces(6), content=Pieces(6))],
            by=self.boss,
            at=AT,
        )
        reserve(
            item=self.cups, amount=Pieces(4), needed_on=date(2026, 3, 20), for_what="T03, planting",
            tank=self.other, by=self.boss, at=AT,
        )  # fmt: skip
        self.code = give_public_code(tank=self.tank, by=self.boss, at=AT).code


built, world = built_once(World)


@pytest.fixture(autouse=True)
def at_noon(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T12:00")


def send(client: Client, page: str, deed: str, **typed: str) -> Any:
    return client.post(reverse(page, args=["T09"]), {"deed": deed, **typed}, follow=True)


def words_of(client: Client, page: str, **query: str) -> str:
    return client.get(reverse(page, args=["T09"]), query).content.decode()


BRIEF = {
    "title": "Low Tide, Early",
    "designer": "Hesper Dunning",
    "style": "stem",
    "idea": "A shore before anybody walks on it.",
    "budget": "1000",
    "target_show_on": "2026-06-01",
}
LINE = {"secured": "", "species": "", "item": ""}


def begun(client: Client) -> None:
    send(client, "layout_brief", "brief", **BRIEF)
    send(client, "layout_build", "begin")


def listed(client: Client, **more: str) -> Any:
    return send(client, "layout_materials", "add", **{**LINE, **more})


def drawn_numbers(page: str) -> list[str]:
    """The numbers at the groups in the drawing."""
    keys = page.partition('<g class="key">')[2].partition("</g></g>")[0]
    return re.findall(r">(\d+)</text>", keys)


def test_from_brief_to_label_without_typing_twice(world: World) -> None:
    client = signed_in(world.boss)
    begun(client)
    layout = Layout.objects.get()
    assert (layout.title, layout.designer.name) == ("Low Tide, Early", "Hesper Dunning")
    assert layout.inspiration == BRIEF["idea"]
    listed(client, part="ground", what="soil, rich", front="3", back="8", price="24.50")
    listed(client, part="carpet", what="hairgrass", species=CARPET, share="40", price="4.20")
    listed(client, part="stems", what="hygrophila", species=STEMS, share="25", rate="6")
    listed(client, part="stone", what="slate, grey", count="11.4", price="3.20")
    page = words_of(client, "layout_materials")
    for why in (
        "58.8 × 28.8 × 5.5 cm = 9.3 L",
        "677 cm² ÷ 120 a cup = 5.6",
        "423 cm² ÷ 6 a stem = 71, 10 a pot",
        "64.8 L × 18 kg a 100 L = 11.7 kg",
        "With 2 mm less depth one bag fewer",
    ):
        assert why in page, why
    assert "£110.68" in page or "€110.68" in page  # 2 x 24.50 + 6 x 4.20 + 11.4 kg x 3.20
    send(client, "layout_build", "take_over")
    groups = PlantGroup.objects.order_by("number")
    assert [(g.planted_count, g.planted_as) for g in groups] == [(6, "cups"), (8, "pots")]
    assert layout.hardscape.get().mass_in_mg == 11_400_000
    assert layout.substrate_layers.get().back_mm == 80
    send(client, "layout_build", "take_over")
    assert PlantGroup.objects.count() == 2
    send(client, "layout_build", "stage", to="start_up", flooded_on="2026-03-12", why="in one day")
    send(
        client, "layout_build", "story", title="Low Tide, Early", inspired_by="nature",
        story="A shore before anybody walks on it.", never_change="The gap on the right.",
        inspiration=BRIEF["idea"], difficulty="2",
    )  # fmt: skip
    send(client, "layout_build", "approve", approved_by="Hesper Dunning", approved_on="2026-03-12")
    build = words_of(client, "layout_build")
    assert build.count('method="post"') == build.count("csrfmiddlewaretoken") > 10
    detail = words_of(client, "layout_detail")
    assert "Stands as approved." in detail
    assert "The gap on the right." in detail
    visitor = Client().get(reverse("public_tank", args=[world.code])).content.decode()
    assert "A shore before anybody walks on it." in visitor
    label = client.get(reverse("label_sheet"), {"tank": "T09"}).content.decode()
    assert "A shore before anybody walks on it." in label


def test_a_later_change_shows_only_when_approved_again(world: World) -> None:
    client = signed_in(world.boss)
    begun(client)
    send(client, "layout_build", "story", title="One", story="First words.", inspired_by="")
    send(client, "layout_build", "approve", approved_by="Hesper Dunning")
    send(client, "layout_build", "version", kind="minor", reason="words changed")
    send(client, "layout_build", "story", title="Two", story="Second words.", inspired_by="")
    public, label = reverse("public_tank", args=[world.code]), reverse("label_sheet")
    for page in (Client().get(public), client.get(label, {"tank": "T09"})):
        assert "First words." in page.content.decode()
        assert "Second words." not in page.content.decode()
    assert "Changed since it was approved" in words_of(client, "layout_detail")
    assert "It was changed since" in client.get(label, {"tank": "T09"}).content.decode()
    send(client, "layout_build", "approve", approved_by="Hesper Dunning")
    assert "Second words." in Client().get(public).content.decode()
    told = [row.frozen_label["label"]["texts"]["title"] for row in LayoutVersion.objects.all()]
    assert sorted(told) == ["One", "Two"]


def test_what_another_build_keeps_is_said_and_not_given(world: World) -> None:
    client = signed_in(world.boss)
    begun(client)
    listed(client, part="carpet", what="hairgrass", share="40", item="cups")
    assert "4 of 6 pcs are kept for T03" in words_of(client, "layout_materials")
    line = str(MaterialLine.objects.get().uid)
    how = {"line": line, "needed_on": "2026-03-25"}
    no = send(client, "layout_materials", "reserve", **how)
    assert no.status_code == 422
    assert "Kept already: 4 pcs for T03, planting." in no.content.decode()
    send(client, "layout_materials", "reserve_buy", **how)
    kept = Reservation.objects.get(tank=world.tank)
    assert (kept.amount_base, MaterialLine.objects.get().reservation) == (6, kept.uid)
    assert "2 pcs are here, on the buy list" in words_of(client, "layout_materials")
    send(client, "layout_materials", "free", line=line)
    reserve(
        item=world.cups, amount=Pieces(8), needed_on=date(2026, 3, 25), for_what="T09, planting",
        tank=world.tank, by=world.boss, at=AT,
    )  # fmt: skip
    send(client, "layout_materials", "reserve", **how)
    assert MaterialLine.objects.get().reservation == Reservation.objects.latest("pk").uid
    send(client, "layout_materials", "free", line=line)
    assert not Reservation.objects.filter(tank=world.tank, released_at=None).exists()


def test_what_was_counted_stands_beside_the_plan(world: World) -> None:
    client = signed_in(world.boss)
    begun(client)
    listed(client, part="carpet", what="hairgrass", share="40", price="4.20")
    uid = MaterialLine.objects.get().uid
    send(client, "layout_materials", "count", **{f"count-{uid}": "7", f"cost-{uid}": "30"})
    page = words_of(client, "layout_materials")
    assert "7 cups (+1 cup)" in page
    assert "30.00" in page


@pytest.mark.parametrize(
    ("page", "deed", "typed", "said"),
    [
        ("layout_brief", "brief", {"title": "", "style": ""}, "Title: empty."),
        (
            "layout_brief", "brief", {"title": "Kept", "style": "", "show_weeks": "900"},
            "Weeks on show: “900” is not allowed.",
        ),
        ("layout_build", "version", {"kind": "minor", "reason": ""}, "What changed?"),
        ("layout_build", "approve", {"approved_by": ""}, "Who approved it?"),
        (
            "layout_build", "approve", {"approved_by": "Hesper", "approved_on": "2026-03-13"},
            "that day is still to come",
        ),
        ("layout_build", "group_add", {"species": "no such moss"}, "No plant is called"),
        ("layout_build", "close", {"lessons": ""}, "Lessons: nothing was given."),
        ("layout_materials", "add", {**LINE, "part": "carpet", "share": ""}, "how much of the"),
        ("layout_materials", "add", {**LINE, "part": "ground", "what": "sand"}, "how deep is it"),
        (
            "layout_materials", "add", {**LINE, "part": "middle", "share": "120"},
            "Allowed: 0 to 100.",
        ),
    ],
)  # fmt: skip
def test_a_wrong_entry_names_its_field_and_stays(
    world: World, page: str, deed: str, typed: dict[str, str], said: str
) -> None:
    client = signed_in(world.boss)
    begun(client)
    answer = send(client, page, deed, **typed)
    html = answer.content.decode()
    assert answer.status_code == 422
    assert said in html
    for value in typed.values():
        assert not value or value in html


def test_groups_leave_and_grow_together_with_their_dates(world: World) -> None:
    client = signed_in(world.boss)
    begun(client)
    how = {"place": "foreground", "fixing": "tweezers", "leaf_colour": "light_green"}
    send(client, "layout_build", "group_add", species=CARPET, planted_count="5", **how)
    send(client, "layout_build", "group_add", species="hygrophila", **how)
    send(client, "layout_build", "group_change", group="1", species=STEMS, **how)
    assert words_of(client, "layout_detail").count('class="gone"') == 1
    send(client, "layout_build", "together", **{"with-1": "yes", "with-2": "yes"})
    page = words_of(client, "layout_detail")
    assert "no longer told apart since" in page
    send(client, "layout_build", "group_add", species=CARPET, **how)
    send(client, "layout_build", "stage", to="planting", why="")
    assert [g.number for g in PlantGroup.objects.filter(to_at=None).order_by("number")] == [1, 3]
    assert drawn_numbers(words_of(client, "layout_detail")) == ["1", "3"]
    assert page.count('class="gone"') == 3
    alone = send(client, "layout_build", "together", **{"with-1": "yes"})
    assert alone.status_code == 422


def test_plants_of_the_layout_before_grow_on_and_say_where_from(world: World) -> None:
    client = signed_in(world.boss)
    begun(client)
    how = {"place": "foreground", "fixing": "tweezers", "leaf_colour": "red"}
    send(client, "layout_build", "group_add", species=CARPET, planted_count="5", **how)
    send(client, "layout_build", "group_add", species=STEMS, **how)
    send(client, "layout_build", "close", lessons="Trim the back stems in time.")
    brief = words_of(client, "layout_brief")
    assert "Trim the back stems in time." in brief
    send(client, "layout_brief", "brief", title="Second", style="", designer="")
    send(client, "layout_build", "begin")
    send(client, "layout_build", "carry", **{"carry-1": "yes"})
    kept = PlantGroup.objects.get(to_at=None)
    assert (kept.layout.title, kept.planted_count, kept.leaf_colour) == ("Second", 5, "red")
    assert kept.provenance == "Low Tide, Early, group 1"
    assert send(client, "layout_build", "carry").status_code == 422
    assert "Low Tide, Early" in words_of(client, "layout_detail", n="1")


def test_a_guest_reads_and_approves_their_own_and_no_other(world: World) -> None:
    guest = a_person("guest_designer", showroom=world.showroom)
    designer = add_designer(
        showroom=world.showroom, name="Sefa Brightwater", person=guest.person, by=world.boss, at=AT
    )
    begin_layout(tank=world.tank, title="Mine", designer=designer, by=world.boss, at=AT)
    begin_layout(tank=world.other, title="Not mine", by=world.boss, at=AT)
    client = signed_in(guest)
    mine = f"{reverse('own_layout')}?tank=T09&n=1"
    assert "Mine" in client.get(mine).content.decode()
    assert client.get(f"{reverse('own_layout')}?tank=T03&n=1").status_code == 404
    assert client.get(reverse("layout_detail", args=["T09"])).status_code == 403
    client.post(mine, {"deed": "approve"})
    assert LayoutVersion.objects.get(layout__title="Mine").frozen_label["approved_by"] == (
        guest.person.name
    )
    client.post(mine, {"deed": "close", "lessons": "no"})
    assert Layout.objects.get(title="Mine").to_at is None


def test_a_carer_reads_and_changes_nothing(world: World) -> None:
    layout = begin_layout(tank=world.tank, title="Mine", by=world.boss, at=AT)
    client = signed_in(a_person("carer", showroom=world.showroom))
    assert client.get(reverse("layout_detail", args=["T09"])).status_code == 200
    assert client.get(reverse("layout_materials", args=["T09"])).status_code == 200
    for page in ("layout_build", "layout_brief"):
        assert client.post(reverse(page, args=["T09"])).status_code == 403
    there = reverse("layout_materials", args=["T09"])
    assert client.post(there, {"deed": "add", **LINE, "part": "other"}).status_code == 403
    assert not layout.material_lines.exists()


def test_more_groups_and_lines_ask_no_more(world: World) -> None:
    layout = begin_layout(tank=world.tank, title="Mine", by=world.boss, at=AT)
    client = signed_in(world.boss)
    plant = Species.objects.get(scientific_name=CARPET)

    def asked(page: str) -> int:
        with CaptureQueriesContext(connection) as queries:
            assert client.get(reverse(page, args=["T09"])).status_code == 200
        return len(queries)

    counts = []
    for begin in (1, 3):
        for number in range(begin, begin + (2 if begin == 1 else 8)):
            add_plant_group(
                layout=layout, species=[plant], number=number, place="moss", fixing="glue",
                leaf_colour="red", by=world.boss, at=AT + timedelta(minutes=number),
            )  # fmt: skip
            listed(client, part="carpet", what=f"n {number}", share="5", item="cups")
        counts.append([asked(page) for page in ("layout_detail", "layout_materials")])
    assert counts[0] == counts[1]
