"""A supervisor sees and does what is of their own crews; of another's not a name, wherever they look.

A picker of the other crew has a name that stands nowhere else. It is looked for in every page, answer and paper that a
supervisor may open, asked about their own and about the other crew's things, and with the name itself as the question.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from io import BytesIO
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone
from pypdf import PdfReader

from crews import policy
from crews.models import Device, Picker
from equipment.actions.load_catalogue import load_catalogue
from equipment.actions.print_register import print_register
from equipment.actions.writing import new_id
from equipment.models import Entry, Label
from equipment.models.registers import REGISTERS, Asked
from tests.cast import Farm
from tests.rights.addresses import ALL, address, places

NAME = "Quillonia Zweibrücken"
BACKEND = "crews.signing_in.RoleBackend"
OWN, FOREIGN = ("red", "ana"), ("blue", "cy")


@dataclass(frozen=True)
class Things:
    """Of one crew: its code, one of its pickers with their card, a piece that they have, its plan, and its printing."""

    crew: str
    picker: int
    badge: str
    tag: str
    plan: int
    printing: str

    def named(self, name: str) -> dict[str, Any]:
        """What stands in the places of this address, where it names something of a crew's."""
        found: Mapping[str, Any] = {"badge": self.badge, "tag": self.tag}
        if name.startswith(("crew", "counter_crew", "counter_names", "counter_figures", "evening_plan_crew")):
            found |= {"code": self.crew}
        if name == "api:sheet":
            found |= {"code": self.crew}
        if name in {"picker", "clearance", "picker_card", "picker_move"}:
            found |= {"pk": self.picker}
        if name == "plan":
            found |= {"pk": self.plan}
        if name in {"printing", "verify_one"}:
            found |= {"code": self.printing}
        if name == "register":
            found |= {"name": "handout"}
        if name == "api:plan":
            found |= {"day": timezone.localdate().isoformat()}
        return {key: value for key, value in found.items() if key in places(name)}


@pytest.fixture
def two(farm: Farm) -> tuple[Things, Things]:
    """The things of Sam's crew and of the other one."""
    load_catalogue()
    Picker.objects.filter(pk=farm.pickers["cy"].pk).update(name=NAME)
    return things(farm, *OWN), things(farm, *FOREIGN)


def things(farm: Farm, colour: str, who: str) -> Things:
    crew, picker = farm.crews[colour].pk, farm.pickers[who].pk
    (tag,) = farm.gear("bag", days_ago=1)
    item = Label.objects.get(pk=tag).item_id
    pen = farm.pen()
    drafts = [pen.draft("handed_out", item=item, crew=crew, picker=picker)]
    assert pen.record(drafts, "note").outcomes[0].recorded
    asked = Asked(timezone.localdate(), timezone.localdate(), crew=crew)
    printing = print_register(REGISTERS["handout"], asked, "pdf", farm.users["olga"], timezone.now())
    return Things(crew, picker, farm.badges[who], tag, farm.plan(colour, "N4").pk, printing.code)


@pytest.fixture
def sam(farm: Farm) -> Client:
    client = Client()
    client.force_login(farm.users["sam"], backend=BACKEND)
    return client


def may_look(role: str) -> Iterator[str]:
    return (name for name in sorted(ALL) if name in policy.ENDPOINTS and role in policy.ENDPOINTS[name].look)


def words(response: HttpResponse) -> str:
    """What can be read in an answer, on paper too."""
    body = b"".join(response.streaming_content) if response.streaming else response.content
    if response.get("Content-Type", "").startswith("application/pdf"):
        return "\n".join(page.extract_text() for page in PdfReader(BytesIO(body)).pages)
    return body.decode(errors="replace")


def test_not_a_name_of_another_crew_is_shown_to_a_supervisor(
    farm: Farm, sam: Client, two: tuple[Things, Things]
) -> None:
    for things in two:
        for name in may_look(policy.SUPERVISOR):
            for question in ({}, {"q": "Quillonia", "crew": things.crew, "picker": things.badge}):
                answer = sam.get(address(name, **things.named(name)), question)
                assert answer.status_code < 500, name
                # What was asked is repeated in the field that it was typed in; the rest of the name is not.
                assert "Zweibrücken" not in words(answer), (name, question)


def test_the_same_look_does_show_the_officer_the_name(farm: Farm, two: tuple[Things, Things]) -> None:
    """The test before would notice: whoever sees all is shown it, at a dozen places."""
    client = Client()
    client.force_login(farm.users["olga"], backend=BACKEND)
    _, foreign = two
    shown = {
        name
        for name in may_look(policy.OFFICER)
        if "Zweibrücken" in words(client.get(address(name, **foreign.named(name))))
    }
    assert {"picker", "pickers", "crew", "item", "still_out", "clearance", "printing"} <= shown


@pytest.mark.parametrize(
    "name",
    [
        "crew",
        "crew_today",
        "crew_training",
        "counter_crew",
        "evening_plan_crew",
        "picker",
        "clearance",
        "printing",
    ],
)
def test_pages_of_another_crew_are_not_there(name: str, sam: Client, two: tuple[Things, Things]) -> None:
    own, foreign = two
    shown = sam.get(address(name, **own.named(name)))
    assert (shown.status_code, bool(words(shown))) == (200, True)  # read to its end, a file is closed
    assert sam.get(address(name, **foreign.named(name))).status_code in (403, 404)


@pytest.mark.parametrize("name", ["crew_told", "crew_training", "crew_lesson_undo", "plan", "item_act"])
def test_nothing_of_another_crew_is_changed_by_a_form(
    name: str, farm: Farm, sam: Client, two: tuple[Things, Things]
) -> None:
    _, foreign = two
    before = Entry.objects.count()
    more = {"what": "arrived"} if name == "crew_told" else {"name": "missed"} if name == "item_act" else {}
    answer = sam.post(
        address(name, **foreign.named(name), **more), {"block": "N4", "state": "stopped", "why": "rain"}
    )
    assert answer.status_code in (403, 404), (name, answer.status_code)
    assert Entry.objects.count() == before


def test_lists_of_the_api_have_ones_own_only(farm: Farm, sam: Client, two: tuple[Things, Things]) -> None:
    own, foreign = two
    for name, field, mine in (
        ("api:items", "tag", {own.tag}),
        ("api:crews", "code", {own.crew}),
        ("api:pickers", "badge", {farm.badges["ana"], farm.badges["ben"]}),
    ):
        assert {row[field] for row in sam.get(address(name)).json()["results"]} == mine, name
    for name in ("api:item", "api:kit"):
        assert sam.get(address(name, **own.named(name))).status_code == 200, name
        assert sam.get(address(name, **foreign.named(name))).status_code in (403, 404), name


def test_a_counter_writes_in_the_book_of_its_own_store(farm: Farm, post: Any) -> None:
    (tag,) = farm.gear("bag", store="B", days_ago=1)
    (answer,) = post(farm.entry("missed", item=tag), store="B")
    assert (answer["outcome"], answer["code"]) == ("refused", "no_right")
    other = Device.objects.create(kind="counter", store=farm.stores["B"])
    (answer,) = post(farm.entry("missed", item=tag), store="B", device=str(other.pk))
    assert answer["outcome"] == "recorded"


def test_what_it_wrote_down_while_it_stood_elsewhere_goes_into_that_book(farm: Farm, post: Any) -> None:
    """A counter was moved to store A with scans of store B in its queue: facts are not refused."""
    (tag,) = farm.gear("bag", store="B", days_ago=1)
    (answer,) = post(farm.entry("missed", item=tag), store="B", gate="note")
    assert answer["outcome"] == "recorded"
    assert Entry.objects.get(pk=answer["id"]).store_id == "B"


@pytest.mark.parametrize("gate", ["hold", "note"])
def test_a_phone_sends_its_owners_entries_only(gate: str, farm: Farm, post: Any) -> None:
    phone = Device.objects.create(pk=new_id(), kind="phone", store=farm.stores["A"], owner=farm.users["sam"])
    (tag,) = farm.gear("bag", days_ago=1)
    entry = farm.entry("found", item=tag)
    (answer,) = post(entry, gate=gate, device=str(phone.pk), name="rosa")
    assert (answer["outcome"], answer["code"]) == ("refused", "no_right")
    assert not Entry.objects.filter(pk=entry["id"]).exists()
