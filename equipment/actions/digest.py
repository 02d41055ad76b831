"""A digest as plain text: what is overdue, by crew or store, and what went out against the gate. Tags and crews, no
names of pickers; the why of an override, being free text, stays in the book."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from textwrap import fill

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.actions import names
from equipment.actions.wording import moment
from equipment.domain import gate
from equipment.domain.clock import CAUSES
from equipment.domain.condition import CONTENTS
from equipment.domain.words import gettext_noop
from equipment.models.reminders import OVERRIDDEN, Late

WIDTH = 76
HEADINGS = {
    "clean": gettext_noop("To be cleaned, and out"),
    "inspect": gettext_noop("Inspections overdue"),
    "mend": gettext_noop("Mends overdue"),
    OVERRIDDEN: gettext_noop("Let out against the gate"),
}
CLEANINGS = {
    "sterilise": gettext_noop("to sterilise"),
    "wash": gettext_noop("to wash"),
    "dry": gettext_noop("to dry"),
}


def subject(lates: Sequence[Late]) -> str:
    let_out = sum(late.key.what == OVERRIDDEN for late in lates)
    due = len(lates) - let_out
    parts = [ngettext("%(n)d overdue", "%(n)d overdue", due) % {"n": due}] if due else []
    if let_out:
        parts.append(ngettext("%(n)d overridden", "%(n)d overridden", let_out) % {"n": let_out})
    return f"{settings.FARM_NAME}: {', '.join(parts)}"


def body(lates: Sequence[Late], at: datetime, kinds: Mapping[str, str], places: Mapping[str, str]) -> str:
    """`kinds` and `places` (crews and stores) are names by code."""
    opening = _("As the gear book has it on %(at)s. Each thing is told once.") % {"at": moment(at)}
    sections = [opening]
    for what, heading in HEADINGS.items():
        told = [late for late in lates if late.key.what == what]
        if told:
            lines = _overridden(told, kinds, places) if what == OVERRIDDEN else _grouped(told, kinds, places)
            sections.append("\n".join([_(heading).upper(), *lines]))
    sections.append(_("The board and the page of each item say more."))
    return "\n\n".join(sections) + "\n"


def _grouped(lates: Sequence[Late], kinds: Mapping[str, str], places: Mapping[str, str]) -> list[str]:
    """One paragraph for what is due alike, of a crew or in a store, since the first of it."""
    groups: dict[tuple[str, ...], list[Late]] = defaultdict(list)
    for late in lates:
        groups[late.crew or late.store or "", late.kind, late.key.name, late.cause].append(late)
    return [_paragraph(each, kinds, places) for each in groups.values()]


def _paragraph(lates: Sequence[Late], kinds: Mapping[str, str], places: Mapping[str, str]) -> str:
    first = lates[0]
    words = {
        "place": places.get(first.crew or first.store or "", "…"),
        "kind": kinds.get(first.kind, first.kind),
        "what": _what(first),
        "since": moment(min(late.key.due_at for late in lates)),
        "tags": ", ".join(late.tag for late in lates),
    }
    return _indented(_("%(place)s. %(kind)s, %(what)s, since %(since)s: %(tags)s") % words)


def _what(late: Late) -> str:
    name = late.key.name
    if late.key.what == "clean":
        words = [_(CLEANINGS[name]), *([_(CAUSES[late.cause])] if late.cause in CAUSES else [])]  # type: ignore[index]
        return ", ".join(words)
    if late.key.what == "inspect":
        return _("what belongs in it is past its date") if name == CONTENTS else names.checklist(name)
    return names.fault(name)


def _overridden(lates: Sequence[Late], kinds: Mapping[str, str], places: Mapping[str, str]) -> list[str]:
    told = _("%(at)s. %(tag)s (%(kind)s) to %(crew)s, by %(by)s, although %(why)s.")
    return [
        _indented(
            told
            % {
                "at": moment(late.key.due_at),
                "tag": late.tag,
                "kind": kinds.get(late.kind, late.kind),
                "crew": places.get(late.crew or "", "…"),
                "by": late.by,
                "why": ", ".join(_(gate.WORDS.get(code, code)) for code in late.key.name.split(",")),
            }
        )
        for late in lates
    ]


def _indented(text: str) -> str:
    return fill(text, WIDTH, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False)
