"""A shed on a busy day: counters of two stores, phones in the orchard, the office; and what they may tell of a few
pieces, crews, baths and lots, of which some are not in the book yet."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

from crews.models import Crew, Device
from equipment.actions.writing import new_id
from equipment.domain import codes
from equipment.models import Discrepancy, Entry
from tests.cast import found_farm, user
from tests.clients import Client, Raw, Witness

PICKER, CREW, NOBODY, BATH = "picker", "crew", "", "bath"
BLEACH = {"recipe": "clippers_daily_bleach", "litres": 2, "product_ml": 200}
DIPPED = {"method": "sterilise", "recipe": "clippers_daily_bleach", "seconds": 600}
# Of what, the verb, its detail, and what else it names.
WHAT: tuple[tuple[str, str, dict[str, Any], str], ...] = (
    ("item", "handed_out", {}, PICKER),
    ("item", "handed_out", {}, CREW),
    ("item", "returned", {}, NOBODY),
    ("item", "returned", {"wet": True}, NOBODY),
    ("item", "missed", {}, NOBODY),
    ("item", "found", {}, NOBODY),
    ("item", "fault_found", {"fault": "bag_hole"}, NOBODY),
    ("item", "fault_found", {"fault": "dirty"}, NOBODY),
    ("item", "mended", {"fault": "bag_hole", "method": "sewn", "minutes": 5}, NOBODY),
    ("item", "cleaned", {"method": "wash"}, NOBODY),
    ("item", "cleaned", DIPPED, BATH),
    ("item", "stowed", {"block": "N4", "counted": True}, NOBODY),
    ("item", "moved", {"to": "B"}, NOBODY),
    ("item", "written_off", {"circumstance": "worn_out"}, NOBODY),
    ("crew", "arrived", {"block": "N4"}, NOBODY),
    ("crew", "arrived", {"block": "S2"}, NOBODY),
    ("crew", "left", {}, NOBODY),
    ("crew", "stopped", {"cause": "rain"}, NOBODY),
    ("crew", "joined", {}, PICKER),
    ("crew", "parted", {}, PICKER),
    ("crew", "taken_over", {}, NOBODY),
    ("bath", "mixed", BLEACH, NOBODY),
    ("bath", "tested", {"ppm": 5000}, NOBODY),
    ("bath", "tested", {"ppm": 1000}, NOBODY),
    ("bath", "emptied", {"where": "drain"}, NOBODY),
    ("lot", "received", {"goods": "plasters", "quantity": 10}, NOBODY),
    ("lot", "used", {"quantity": 4}, NOBODY),
    ("lot", "counted", {"left": 2.5}, NOBODY),
)


@dataclass(frozen=True)
class Happening:
    """`which` chooses the subject and `who` the picker, crew or bath beside it, each from whatever there is."""

    what: tuple[str, str, dict[str, Any], str]
    which: int = 0
    who: int = 0
    ago: int = 0
    note: str = ""


HAPPENINGS = st.builds(
    Happening,
    what=st.sampled_from(WHAT),
    which=st.integers(0, 6),
    who=st.integers(0, 2),
    ago=st.integers(0, 600),
    note=st.sampled_from(["", "", "on the thorn fence"]),
)


class BusyShed:
    """Each is a farm of its own, founded in an empty database. `late` are tags that nobody has registered yet."""

    def __init__(self, address: str) -> None:
        self.farm, self.witness = found_farm(rules=True), Witness()
        farm = self.farm
        bea, tess = user("bea", "storeman"), user("tess", "supervisor")
        Crew.objects.filter(pk=farm.crews["blue"].pk).update(supervisor=tess)
        self.known = farm.gear("bag", 4, days_ago=2) + farm.gear("clippers", days_ago=2)
        self.late = [codes.make("BG", 901), codes.make("CL", 902)]
        self.subjects: dict[str, list[str]] = {
            "item": [*self.known, *self.late],
            "crew": [farm.crews["red"].pk, farm.crews["blue"].pk],
            "bath": [str(new_id()) for _ in range(3)],
            "lot": [str(new_id()) for _ in range(2)],
        }
        people = farm.users | {"bea": bea, "tess": tess}

        def client(name: str, kind: str, store: str, gate: str) -> Client:
            device = Device.objects.create(kind=kind, store=farm.stores[store])
            return Client(address, people[name], device, gate, self.witness)

        counter, phone = Device.Kind.COUNTER, Device.Kind.PHONE
        self.counters = [client(*each, "hold") for each in (("rosa", counter, "A"), ("rosa", counter, "A"))]
        self.counters.append(client("bea", counter, "B", "hold"))
        self.phones = [client(name, phone, "A", "note") for name in ("sam", "rosa")]
        self.phones.append(client("tess", phone, "B", "note"))
        self.office = [client(name, counter, "A", "hold") for name in ("olga", "frank")]
        self.founded = set(Entry.objects.values_list("pk", flat=True))
        known = [Happening(what, ago=700) for what in WHAT if what[1] in ("mixed", "received")]
        self.counters[0].send([self.told(self.counters[0], each) for each in known])

    @property
    def clients(self) -> list[Client]:
        return [*self.counters, *self.phones, *self.office]

    def told(self, client: Client, happening: Happening, **fields: Any) -> dict[str, Any]:
        """The entry by which `client` tells of it."""
        family, verb, detail, beside = happening.what
        fields = {family: self._one(family, happening.which), "detail": detail} | fields
        if beside == PICKER:
            fields["picker"] = list(self.farm.badges.values())[happening.who]
        elif beside:
            fields[beside] = self._one(beside, happening.who)
        if happening.note:
            fields["note"] = happening.note
        return client.entry(new_id(), verb, happening.ago, **fields)

    def _one(self, family: str, number: int) -> str:
        there = self.subjects[family]
        return there[number % len(there)]

    def registering(self, client: Client, number: int) -> dict[str, Any]:
        tag = self.late[number % len(self.late)]
        detail = {"kind": "clippers" if tag.startswith("CL") else "bag", "store": "A"}
        return client.entry(new_id(), "registered", item=tag, detail=detail)

    def taking_back(self, client: Client, number: int) -> dict[str, Any] | None:
        """A line that takes back one that was acknowledged."""
        if not self.witness.accepted:
            return None
        there = list(self.witness.accepted.values())
        undone = there[number % len(there)]
        return client.entry(new_id(), "reversed", detail={"entry": undone["id"]}, **subject(undone))

    def settling(self, client: Client, number: int) -> dict[str, Any] | None:
        """A line that settles what the book says twice."""
        there = list(Discrepancy.objects.filter(settled=False).order_by("code", "entry_id"))
        if not there:
            return None
        found = there[number % len(there)]
        whose = {"item": found.item and found.item.state.tag, "crew": found.crew_id}
        whose |= {"bath": found.bath_id and str(found.bath_id), "lot": found.lot_id and str(found.lot_id)}
        named = {name: code for name, code in whose.items() if code}
        return client.entry(new_id(), "settled", detail={"key": found.key, "choice": "as told"}, **named)

    def close(self) -> None:
        for client in self.clients:
            client.close()


def subject(raw: Raw) -> Mapping[str, Any]:
    """What an entry is said of."""
    family = next(name for name in ("item", "bath", "lot", "crew") if raw.get(name))
    return {family: raw[family]}
