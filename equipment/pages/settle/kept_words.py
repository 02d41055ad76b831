"""What a kept note says, as far as it can be read, and why the book did not take it."""

import json
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from crews.models import BadgeLoan, Crew
from equipment.actions import raw
from equipment.actions.wording import REVOKED, filled, refusal
from equipment.domain.verbs import VERBS
from equipment.models import KeptEntry
from equipment.pages.keys import moment
from equipment.pages.telling import catalogued

NAMED = ("item", "picker", "crew", "bath", "lot", "block")


@dataclass(frozen=True)
class Said:
    """`at` as the phone told it (None where it told none), `params` fill the words of a refusal, `note` is the free
    text with it, `pretty` the whole of it as it was sent."""

    words: str
    at: datetime | None
    params: Mapping[str, Any]
    note: str
    pretty: str


class Names:
    """The crews by their names and, of the cards in these notes, who held them on a day: two queries."""

    def __init__(self, texts: Iterable[str]) -> None:
        self.crews: dict[str, str] = dict(Crew.objects.values_list("pk", "name"))
        cards = {raw.given(json.loads(text), "picker").upper() for text in texts} - {""}
        rows = BadgeLoan.objects.filter(badge__in=cards).select_related("picker").order_by("from_day")
        self._loans = list(rows) if cards else []

    def of(self, code: str, at: datetime | None) -> str:
        """The name of a crew, or that of a picker with their card; the code itself where it names nobody."""
        if name := self.crews.get(code.upper()):
            return name
        day = timezone.localdate(at) if at else None
        for loan in reversed(self._loans):
            if loan.badge_id == code.upper() and (day is None or loan.from_day <= day):
                return f"{loan.picker.name} ({loan.badge_id})"
        return code


def said(text: str, known: Names) -> Said:
    """`text` is JSON, of whatever shape."""
    entry = json.loads(text)
    pretty = json.dumps(entry, indent=2, ensure_ascii=True)
    names = {name: raw.given(entry, name) for name in NAMED}
    params = {"tag": names["item"], "who": names["picker"] or names["crew"], "crew": names["crew"]}
    params["bath"] = names["bath"]
    at = moment(raw.given(entry, "happened_at").replace("Z", "+00:00"))
    named = {name: known.of(code, at) for name, code in names.items()}
    note = _shown(entry.get("note")) if isinstance(entry, Mapping) else ""
    return Said(_told(entry, named), at, {k: v or None for k, v in params.items()}, note, pretty)


def _shown(text: Any) -> str:
    """A text without what no page can show: half a letter, or no letter at all."""
    return text.encode("utf-8", "replace").decode().replace("\x00", "?") if isinstance(text, str) else ""


def _told(entry: Any, names: Mapping[str, str]) -> str:
    verb = VERBS.get(raw.given(entry, "verb"))
    subject = names["item"] or names["crew"] or names["bath"] or names["lot"]
    if verb is None:
        return subject or _("Something that cannot be read.")
    detail = entry.get("detail") if isinstance(entry.get("detail"), Mapping) else {}
    words = {name: value for name, value in detail.items() if isinstance(value, str | int | float)}
    with suppress(
        KeyError, TypeError, ValueError, AttributeError
    ):  # what no catalogue knows is told by its codes
        words |= catalogued(verb.name, detail)
    words |= {"who": names["picker"] or names["crew"], "crew": names["crew"]}
    words["block"] = names["block"] or words.get("block")
    words["store"] = words.get("store") or _("the store")
    template = verb.telling(words) if verb.family != "any" else verb.told
    told = filled(template, words)
    return f"{subject}: {told}" if subject else told


def why_it_waits(row: KeptEntry, params: Mapping[str, Any]) -> str:
    if row.revoked:
        return _(REVOKED)
    if row.code == "malformed":
        return _("It cannot be read: %(why)s.") % {"why": _unreadable(row)}
    if row.code == "no_right":
        return _("Whoever wrote it had no right to: not their work, or not their crew at that time.")
    if row.code == "id_reused":
        return _("Another line stands in the book under the same number.")
    return refusal(row.code, params)


def _unreadable(row: KeptEntry) -> str:
    try:
        raw.read(json.loads(row.raw), lenient=True)
    except raw.Unreadable as why:
        return str(why)
    return _("something that it names does not exist, or not so")
