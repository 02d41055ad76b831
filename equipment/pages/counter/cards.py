"""What the counter shows of whoever stands there: their kit while handing out, what they owe while taking back."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from crews.models import Crew, DayPlan
from equipment.domain.kit import PAIRED, KitLine
from equipment.models import Entry, ItemState, Kind
from equipment.models.crew_kits import CrewKit
from equipment.models.kits import PickerKit, bounds, usual_by_kind

Kinds = dict[str, Kind]


def card(
    kit: PickerKit | CrewKit, kinds: Kinds, at: datetime, code: str, team: Crew | None
) -> dict[str, Any]:
    """The parameters of `_partials/kit_card.html`; `code` is the badge or crew tag, `team` the picker's crew."""
    today = timezone.localdate(at)
    if isinstance(kit, PickerKit):
        who, crew = kit.picker.name, team.name if team else _("in no crew")
        usual, whys = _usual(kit, at), _whys(kit, today)
    else:
        who, crew = kit.crew.name, _("shared gear of the crew")
        usual, whys = {}, {}
    return {
        "who": who,
        "badge": code,
        "crew": crew,
        **_work(kit.plans),
        "complete": kit.complete,
        "lines": _lines(kit, kinds, usual, whys),
        "late": _late(kit.held, today),
    }


def missing(kit: PickerKit | CrewKit, kinds: Kinds) -> list[dict[str, Any]]:
    """What is required and not there, in words: `[{kind, name, quantity}]`. What is advised holds nobody back."""
    return [
        {"kind": line.kind, "name": str(kinds[line.kind]), "quantity": line.quantity}
        for line in kit.missing
        if line.need == "required"
    ]


def _usual(kit: PickerKit, at: datetime) -> dict[str, str]:
    """By kind, the piece they usually carry, where it lies in the store."""
    usual = usual_by_kind([kit.picker], at).get(kit.picker.pk, {})
    return {kind: state.tag for kind, state in usual.items() if state.place == ItemState.Place.STORE}


def owed(states: Iterable[ItemState]) -> list[dict[str, str]]:
    """What comes back tonight of these: `[{tag, name, icon}]`."""
    return [
        {"tag": state.tag, "name": str(state.item.kind), "icon": state.item.kind.icon}
        for state in states
        if state.item.kind.comes_back == Kind.ComesBack.TONIGHT
    ]


def _work(plans: Sequence[DayPlan]) -> dict[str, str | None]:
    if not plans:
        return {"block": None, "plan": None}
    return {
        "block": ", ".join(f"{plan.block_id} {plan.block.crop}" for plan in plans),
        "plan": _(", then ").join(dict.fromkeys(_plan(plan) for plan in plans)),
    }


def _plan(plan: DayPlan) -> str:
    how = _("clipped") if plan.clipped else _("snapped")
    words = [how, _("tall trees")] if plan.block.tall_trees else [how]
    return ", ".join(words)


def _lines(
    kit: PickerKit | CrewKit, kinds: Kinds, usual: dict[str, str], whys: dict[str, str]
) -> list[dict[str, Any]]:
    to_give = {line.kind: line.quantity for line in kit.missing}
    tags: dict[str, list[str]] = {}
    for state in kit.held:
        tags.setdefault(state.item.kind_id, []).append(state.tag)
    lines = [_line(line, kinds, tags, to_give, usual, whys) for line in kit.lines]
    beside = [kind for kind in tags if kind not in {line["code"] for line in lines} | _singles(kit.lines)]
    return lines + [
        {"code": kind, "kind": str(kinds[kind]), "icon": kinds[kind].icon, "needed": 1, "held": tags[kind]}
        for kind in beside
    ]


def _singles(lines: Iterable[KitLine]) -> set[str]:
    """Kinds whose pieces a line counts as halves of a pair."""
    return {PAIRED[line.kind] for line in lines if line.kind in PAIRED}


def _line(
    line: KitLine,
    kinds: Kinds,
    tags: dict[str, list[str]],
    to_give: dict[str, int],
    usual: dict[str, str],
    whys: dict[str, str],
) -> dict[str, Any]:
    return {
        "code": line.kind,
        "kind": str(kinds[line.kind]),
        "icon": kinds[line.kind].icon,
        "needed": line.quantity,
        "held": tags.get(line.kind, []) + tags.get(PAIRED.get(line.kind, ""), []),
        "to_give": to_give.get(line.kind, 0),
        "usual": usual.get(line.kind),
        "advised": line.need == "advised",
        "waived": line.kind in whys,
        "why": whys.get(line.kind, ""),
    }


def _whys(kit: PickerKit, day: date) -> dict[str, str]:
    """Waived kind -> why, as it was written down. No query where nothing is waived."""
    if not kit.waived:
        return {}
    start, end = bounds(day)
    entries = Entry.objects.filter(
        verb="waived",
        crew=kit.crew,
        picker=kit.picker,
        item=None,
        happened_at__gte=start,
        happened_at__lt=end,
    )
    notes = {entry.detail["kind"]: entry for entry in entries.select_related("written_note")}
    return {kind: _note(notes.get(kind)) for kind in kit.waived}


def _note(entry: Entry | None) -> str:
    note = getattr(entry, "written_note", None)
    return note.text if note else ""


def _late(held: Iterable[ItemState], day: date) -> list[str]:
    """Sentences about gear that should have come back on an earlier night."""
    start, _end = bounds(day)
    return [
        _("%(kind)s %(tag)s is out since %(day)s.")
        % {
            "kind": state.item.kind,
            "tag": state.tag,
            "day": date_format(timezone.localtime(state.since), _("D j F")),
        }
        for state in held
        if state.since and state.since < start and state.item.kind.comes_back == Kind.ComesBack.TONIGHT
    ]
