"""The sheet that a phone fetched, with what it recorded since, is the sheet that the server gives once all was sent.

A crew's days go round after round: the sheet is fetched; a phone writes things down, sensible and not; the same entries
go to the book by the API, and are folded onto the sheet by the phone; then the next sheet is fetched, and both are
asked what they know. What the book refused the phone has parked, and left out.
"""

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from crews.models import Block, Crew, Device
from equipment.models import ItemState
from equipment.models.crew_kits import crew_kit
from equipment.models.kits import kits
from equipment.models.mornings import morning
from equipment.models.overdue import next_dip
from tests import orchard_days
from tests.cast import Farm
from tests.orchard_days import BADGES, WORK, Pen
from tests.phone import Phone

ROUNDS = 14
# Nobody is lent: a sheet tells of one crew for each picker. (tests/browser/test_phone_days.py lends.)
# Nobody takes the crew over: then the book takes what it had refused before, which the phone cannot know.
HAPPENING = [each for each in WORK if each not in ("joined", "parted", "over")]
LATER = (timezone.now() + timedelta(hours=1)).isoformat()
SENDERS = ("sam", "rosa", "olga")
# What has lain still for a day is not on the next sheet; the crew's visits of long ago neither. What takes back a line
# that the book refused contradicts there: the phone had parked that line.
SAY = """({day}, {sheet, entries, at, tags, baths, pickers, kept}) => {
  const now = day.apply(sheet, entries);
  const here = new Set(tags);
  const items = now.items.filter((item) => here.has(item.tag)).sort((one, other) => one.tag < other.tag ? -1 : 1);
  const each = (tell) => Object.fromEntries(items.map((item) => [item.tag, tell(item)]));
  const exact = (value) => JSON.parse(JSON.stringify(value).replace(/(:\\d\\d)\\.0{6}Z/g, '$1Z'));
  const left = ({code}) => code !== 'not_reversible';
  const plain = ({stints, discrepancies, ...state}) => exact({...state, discrepancies: discrepancies.filter(left)});
  const {visits, replanned, ...crew} = now.state;
  const whole = {...now, items};
  const kit = (picker) => picker === null ? day.crewKit(whole) : day.kitOf(whole, picker);
  const lines = ({missing, complete, waived}) => ({missing, complete, waived: [...waived].sort()});
  return {
    items: each((item) => plain(item.state)),
    void: each((item) => item.void),
    condition: each((item) => exact(day.conditionOf(now, item.tag))),
    gate: each((item) => day.verdict(now, item.tag, at, {picker: pickers[0], crew: sheet.crew.code})),
    due: day.dueList(now, at).filter((line) => here.has(line.tag)),
    dip: day.dipBy(whole, at),
    crew: plain({...crew, visits: visits.slice(-kept)}),
    members: now.members.map((each) => each.picker).sort(),
    plans: now.plans.map(({date, part, block, clipped}) => [date, part, block, clipped]),
    baths: Object.fromEntries(now.baths.filter(({bath}) => baths.includes(bath)).map(({bath, dipped, state}) =>
      [bath, {dipped, state: plain(state), why: day.bathVerdict(now, bath, at).why}])),
    here: pickers.filter((picker) => day.isHere(now, picker)),
    kits: [...pickers, null].map((picker) => lines(kit(picker))),
  };
}"""


@dataclass
class Season:
    """The farm, and a pen that writes of the drawn crews in the farm's own codes. Its days end now."""

    farm: Farm
    pen: Pen
    words: dict[str, str]
    ends: datetime = field(default_factory=lambda: timezone.now() - timedelta(minutes=5))
    baths: dict[str, str] = field(default_factory=dict)
    met: Counter[str] = field(default_factory=Counter)

    def entries(self, first: int, last: int, sheet: dict[str, Any], sender: int) -> list[dict[str, Any]]:
        """As one sends them. Nothing of a bath that neither the sheet has nor this round has mixed: the book keeps that
        until it knows the bath, or knows it to be old; the phone cannot."""
        known = {row["bath"] for row in sheet["baths"]}
        told = []
        for each in self.pen.entries[first:last]:
            if drawn_bath := each.get("bath"):
                own = self._bath(each, drawn_bath, known)
                if own not in known:
                    continue
                each = {**each, "bath": own}
            told.append({**self._ours(each), "by": sender})
        return told

    def _bath(self, entry: dict[str, Any], drawn_bath: str, known: set[str]) -> str:
        """A bucket is mixed anew under a new number."""
        if entry["verb"] == "mixed" and self.baths.get(drawn_bath) not in known:
            self.baths[drawn_bath] = str(UUID(int=UUID(entry["id"]).int + 1))
            known.add(self.baths[drawn_bath])
        return self.baths.get(drawn_bath, "")

    def _ours(self, told: dict[str, Any]) -> dict[str, Any]:
        entry: dict[str, Any] = self._worded(told)
        happened = datetime.fromisoformat(told["happened_at"]) - self.pen.latest + self.ends
        entry["happened_at"] = happened.isoformat()
        if entry["verb"] == "stowed":
            entry["crew"] = self.words["RED"]
        return entry

    def _worded(self, value: Any) -> Any:
        if isinstance(value, dict):
            return {name: self._worded(inner) for name, inner in value.items()}
        return self.words.get(value, value) if isinstance(value, str) else value


def drawn(farm: Farm, seed: int) -> tuple[Season, list[tuple[int, int]]]:
    """The season, and from where to where in the pen's entries each round goes."""
    random = Random(seed)
    kinds = ["clippers", "clippers", "clippers", *random.sample(("bag", "ladder", "gloves", "goggles"), 2)]
    tags = [farm.gear(kind, days_ago=40)[0] for kind in kinds]
    pen = Pen(random, dict(zip(tags, kinds, strict=True)))
    rounds = []
    for number in range(ROUNDS):
        pen.begin()
        first = len(pen.entries)
        if number == 0:
            pen.dawn()
        for _ in range(random.randint(4, 20)):
            pen.write(random.choice(HAPPENING))
        rounds.append((first, len(pen.entries)))
    return Season(farm, pen, _words(farm)), rounds


def _words(farm: Farm) -> dict[str, str]:
    today = timezone.localdate()
    days = {f"2026-06-0{number + 1}": str(today + timedelta(days=number)) for number in range(3)}
    cards = dict(zip(BADGES, (farm.badges[name] for name in ("ana", "ben", "cy")), strict=True))
    crews = {"RED": farm.crews["red"].pk, "red": farm.crews["red"].pk.lower(), "BLUE": farm.crews["blue"].pk}
    return {**days, **cards, **crews}


def settle(farm: Farm) -> Device:
    """Both crews of one store, blocks and plans as in the drawn days; a phone that nobody owns."""
    Crew.objects.filter(pk=farm.crews["blue"].pk).update(store="A")
    for code, (crop, tall) in orchard_days.BLOCKS.items():
        Block.objects.get_or_create(code=code, defaults={"crop": crop, "tall_trees": tall})
    farm.plan("red", "N4", clipped=True)
    farm.plan("red", "S1", days=1, part="morning", clipped=False)
    return Device.objects.create(kind=Device.Kind.PHONE, name="Sam's phone", store=farm.stores["A"])


def sheet(client: APIClient, farm: Farm) -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/api/crews/{farm.crews['red'].pk}/sheet/").json()
    return {**found, "at": LATER}


def sent(client: APIClient, device: Device, entries: list[dict[str, Any]]) -> dict[str, Any]:
    """Answers by id."""
    plain = [{name: value for name, value in each.items() if name != "by"} for each in entries]
    batch = {"device": str(device.pk), "store": "A", "gate": "note", "entries": plain}
    answer = client.post("/api/entries/", {**batch, "sent_at": timezone.now().isoformat()}, format="json")
    assert answer.status_code == 200, answer.content
    return {each["id"]: each for each in answer.json()["answers"]}


def question(found: dict[str, Any], entries: list[dict[str, Any]], other: dict[str, Any]) -> dict[str, Any]:
    """What to ask of a sheet with entries folded onto it, of pieces that the `other` one has too."""
    return {
        "sheet": found,
        "entries": entries,
        "at": found["at"],
        "tags": sorted({item["tag"] for item in found["items"]} & {item["tag"] for item in other["items"]}),
        "baths": sorted({row["bath"] for row in found["baths"]} & {row["bath"] for row in other["baths"]}),
        "pickers": sorted(each["picker"] for each in found["members"]),
        "kept": min(len(found["state"]["visits"]), len(other["state"]["visits"])),
    }


@pytest.mark.parametrize("seed", range(4))
def test_round_after_round_the_phone_knows_what_the_server_knows(
    ruled_farm: Farm, client_of: Any, phone: Phone, seed: int
) -> None:
    farm, device = ruled_farm, settle(ruled_farm)
    season, rounds = drawn(farm, seed)
    before, asked = sheet(client_of("sam"), farm), []
    for number, (first, last) in enumerate(rounds):
        name = SENDERS[number % len(SENDERS)]
        entries = season.entries(first, last, before, farm.users[name].pk)
        answers = sent(client_of(name), device, entries)
        folded = [each for each in entries if answers[each["id"]]["outcome"] == "recorded"]
        season.met.update(each["verb"] for each in folded)
        after = sheet(client_of("sam"), farm)
        asked.append((question(before, folded, after), question(after, [], before)))
        before = after
    said = phone(SAY, [each for pair in asked for each in pair])
    for number, (mine, theirs) in enumerate(zip(said[::2], said[1::2], strict=True)):
        differing = {part: (mine[part], theirs[part]) for part in theirs if mine[part] != theirs[part]}
        assert not differing, (number, differing, asked[number][0]["entries"])
    assert len(season.met) > 12, season.met
    check_rows(farm, phone(SAY, [question(before, [], before)])[0])


def check_rows(farm: Farm, said: dict[str, Any]) -> None:
    """And of the last sheet the phone says what the server's own pages and lists say."""
    crew, now, today = farm.crews["red"], timezone.now(), timezone.localdate()
    dip = next_dip(crew.pk, now)
    assert (moment(said["dip"]["at"]) if said["dip"] else None) == (dip.at if dip else None)
    rows = {row.tag: row for row in ItemState.objects.all()}
    for tag, found in said["condition"].items():
        due = [each for each in rows[tag].due if each["what"] == "clean"]
        wanted = [(each["name"], moment(each["at"]), each["cause"]) for each in due]
        assert [(each["method"], moment(each["at"]), each["cause"]) for each in found["cleanings"]] == wanted
        assert rows[tag].void == said["void"][tag]
    people = [farm.pickers[name] for name in ("ana", "ben")]
    wanted_kits = [*kits(people, today), crew_kit(crew, today)]
    assert [[(line["kind"], line["quantity"]) for line in each["missing"]] for each in said["kits"]] == [
        [(line.kind, line.quantity) for line in each.missing] for each in wanted_kits
    ]
    assert [each["complete"] for each in said["kits"]] == [each.complete for each in wanted_kits]
    assert said["here"] == sorted(each.picker.pk for each in morning(crew, today, now).served)


def moment(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None
