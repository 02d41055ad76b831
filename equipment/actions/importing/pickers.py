"""The season's pickers, known by their number; and whom of the farm's pickers the list leaves out."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Literal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import Crew, Picker
from equipment.actions import change_crew, lend_badge
from equipment.actions.importing.cards import Cards
from equipment.actions.importing.cells import Line, MadeCode, Words10, Words20, Words80, Words120, lowered
from equipment.actions.importing.kinds import ByName, Given, ListKind, differences, save, shown
from equipment.actions.importing.left_out import left_out
from equipment.actions.importing.results import Difference, Findings, bad
from equipment.actions.writing import Pen
from equipment.models import Membership

FIELDS = ("name", "hand", "glove_size", "boot_size", "overall_size")


class PickerLine(Line):
    number: Words20
    name: Words120
    crew: Words80 = ""
    hand: Annotated[Literal["right", "left"], lowered] = ""
    glove_size: Words10 = ""
    boot_size: Words10 = ""
    overall_size: Words10 = ""
    badge: MadeCode = ""


@dataclass(slots=True)
class _Work:
    """What is to be written: people, the crews they join (None: they leave), the cards they get."""

    new: list[Picker] = field(default_factory=list)
    changed: list[Picker] = field(default_factory=list)
    crews: list[tuple[Picker, Crew | None]] = field(default_factory=list)
    cards: list[tuple[Picker, str]] = field(default_factory=list)
    cardless: list[Picker] = field(default_factory=list)

    def write(self, given: Given) -> None:
        Picker.objects.bulk_create(self.new)
        Picker.objects.bulk_update(self.changed, FIELDS)
        lend_badge.lend_these(self.cards, given.day)
        lend_badge.lend_new(self.cardless, given.day)
        change_crew.move(Pen(given.by, "", given.at), {picker.pk: crew for picker, crew in self.crews})


def compare(given: Given) -> Findings:
    findings, work = Findings(), _Work()
    known = {picker.number: picker for picker in Picker.objects.all()}
    crews = {crew.pk: crew for crew in Crew.objects.all()}
    in_crew = dict(Membership.objects.current().values_list("picker", "crew"))
    names = ByName(crews.values(), lambda crew: [crew.pk, crew.name])
    cards = Cards(given.day, [row.badge for _line, row in given.lines if row.badge])
    for line, row in given.lines:
        picker = known.get(row.number) or Picker(number=row.number)
        wanted = {name: getattr(row, name) for name in FIELDS if name in given.columns}
        changes = differences(picker, wanted) if picker.pk else []
        now = crews.get(in_crew.get(picker.pk, ""))
        crew = _crew(line, row, names, findings) if "crew" in given.columns else now
        if crew != now:
            work.crews.append((picker, crew))
            changes.append(Difference("crew", shown(now), shown(crew)))
        if problem := cards.wrong(row.badge, picker):
            findings.bad.append(bad(line, "badge", row.badge, problem))
        elif card := _card(row, picker, crew, cards, work):
            changes.append(card)
        _count(line, picker, wanted, changes, findings, work)
    listed = {row.number for _line, row in given.lines}
    findings.missing = left_out(known.values(), listed, in_crew, crews)
    findings.new_cards = len(work.cardless)
    findings.write = lambda: work.write(given)
    return findings


def _crew(line: int, row: PickerLine, names: ByName[Crew], findings: Findings) -> Crew | None:
    crew = names.find(row.crew) if row.crew else None
    if row.crew and crew is None:
        findings.bad.append(bad(line, "crew", row.crew, _("There is no such crew. Import the crews first.")))
    return crew


def _card(row: PickerLine, picker: Picker, crew: Crew | None, cards: Cards, work: _Work) -> Difference | None:
    """The card that the picker gets: the one of the list, or a new one for whoever picks here and has none."""
    held = cards.of(picker)
    before = ", ".join(sorted(held))
    if row.badge and row.badge not in held:
        work.cards.append((picker, row.badge))
        return Difference("badge", shown(before), row.badge)
    if not row.badge and not held and (crew or not picker.pk):
        work.cardless.append(picker)
        return Difference("badge", shown(before), _("a new card"))
    return None


def _count(
    line: int,
    picker: Picker,
    wanted: Mapping[str, str],
    changes: list[Difference],
    findings: Findings,
    work: _Work,
) -> None:
    what = f"{picker.number} {wanted['name']}"
    if not picker.pk:
        work.new.append(picker)
        findings.added.append(what)
    elif findings.note(line, what, changes) and differences(picker, wanted):
        work.changed.append(picker)
    save(picker, wanted)


KIND = ListKind(
    name="pickers",
    words=gettext_lazy("Pickers"),
    about=gettext_lazy(
        "One row a picker. A picker is known again by their number. Who has no card gets a new one; a badge only where "
        "the picker has a printed card already. An empty crew takes the picker out of their crew."
    ),
    line=PickerLine,
    key=("number",),
    compare=compare,
    sample={"number": "2001", "name": "Limbani Myeza", "crew": "Hoopoe", "hand": "right", "glove_size": "M"},
    once=("badge",),
)
