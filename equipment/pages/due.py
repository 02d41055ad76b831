"""What is due on the board: cleanings of what is out, baths, morning checks. The partial also comes by itself."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from crews.models import User
from equipment.actions import names
from equipment.actions.wording import moment
from equipment.domain import bath
from equipment.domain.words import gettext_noop
from equipment.models import Kind
from equipment.models.now import BathNow, CrewNow, baths_now, crews_now
from equipment.models.overdue import Fallen, Group, groups
from equipment.pages.links import link
from equipment.pages.spans import length

SAYINGS = {
    "sterilise": gettext_noop("%(kind)s: %(n)d to sterilise"),
    "wash": gettext_noop("%(kind)s: %(n)d to wash"),
    "dry": gettext_noop("%(kind)s: %(n)d to dry"),
    "late": gettext_noop("for %(span)s: %(why)s"),
    "next": gettext_noop("next %(n)d at %(time)s"),
    "one of several": gettext_noop("%(n)d: %(cause)s"),
    "who": gettext_noop("%(crew)s, %(block)s"),
    "nobody": gettext_noop("In the orchard"),
}
# `domain.clock.CAUSES`, of many pieces together.
THEIRS = {
    "never": gettext_noop("never done yet"),
    "void": gettext_noop("their bath was not as it should be"),
    "dirty": gettext_noop("dirt was found"),
    "wet": gettext_noop("they are wet"),
    "flag": gettext_noop("flagged for a disease"),
    "block": gettext_noop("they went into another block"),
    "picker": gettext_noop("they went to another picker"),
    "hours": gettext_noop("their hours in use are up"),
    "rest": gettext_noop("they lay too long"),
}
# Those that follow the next one within this time are told together with it.
TOGETHER = timedelta(minutes=15)


@dataclass(frozen=True)
class Line:
    """One group in words; `at` is when its first piece fell due, or will, as a machine reads it, and `when` as people
    do."""

    key: str
    at: str
    when: str
    who: str
    url: str
    what: str
    why: str
    tags: SafeString
    folded: str


@dataclass(frozen=True)
class BathLine:
    at: datetime | None
    what: str
    why: str
    wants: bool


def board_due(request: HttpRequest) -> HttpResponse:
    """What this part of the board refreshes itself with."""
    return render(request, "_partials/board_due.html", {"due": due(request.user, timezone.now())})


def due(user: User, at: datetime) -> dict[str, Any]:
    """All that the partial shows. Four queries, however much is due."""
    today = timezone.localdate(at)
    found = groups(user, at)
    kinds = {kind.pk: _(kind.name_plural) for kind in Kind.objects.only("name_plural").order_by()}
    crews = crews_now(user, today, at)
    urls = {code: link(user, "crew_today", code) for code in crews}
    teller = Teller(at, kinds, crews, urls)
    return {
        "now": [teller.overdue(group) for group in found if group.overdue],
        "soon": [teller.coming(group) for group in found if not group.overdue],
        "baths": [_bath(each, at) for each in baths_now(user, at)],
        "unchecked": [(crew.name, urls[code]) for code, crew in crews.items() if crew.unchecked],
    }


def translated(words: Mapping[str, str]) -> dict[str, str]:
    return {code: _(said) for code, said in words.items()}


@dataclass(frozen=True)
class Teller:
    """Puts groups into words, which it translates once for all of them. `kinds`, `crews` and `urls` by their codes."""

    at: datetime
    kinds: Mapping[str, str]
    crews: Mapping[str, CrewNow]
    urls: Mapping[str, str]
    zone: tzinfo = field(default_factory=timezone.get_current_timezone)
    say: Mapping[str, str] = field(default_factory=lambda: translated(SAYINGS))
    theirs: Mapping[str, str] = field(default_factory=lambda: translated(THEIRS))

    def overdue(self, group: Group) -> Line:
        span = length(self.at - group.overdue[0].at)
        late = self.say["late"] % {"span": span, "why": self.causes(group.overdue)}
        return self._line(group, group.overdue, "; ".join([late, *self.following(group.coming)]))

    def coming(self, group: Group) -> Line:
        return self._line(group, group.coming, self.causes(group.coming))

    def _line(self, group: Group, shown: Sequence[Fallen], why: str) -> Line:
        count, since = pieces_in(shown), shown[0].at.astimezone(self.zone)
        return Line(
            key=f"due-{group.crew}-{group.kind}-{group.method}",
            at=since.isoformat(),
            when=self._clock(since),
            who=self._who(group.crew),
            url=self.urls.get(group.crew or "", ""),
            what=self.say[group.method] % {"kind": self.kinds.get(group.kind, group.kind), "n": count},
            why=why,
            tags=tags(shown),
            folded=ngettext("its tag", "their %(n)d tags", count) % {"n": count},
        )

    def _who(self, code: str | None) -> str:
        crew = self.crews.get(code or "")
        if crew is None:
            return self.say["nobody"]
        return self.say["who"] % {"crew": crew.name, "block": crew.block} if crew.block else crew.name

    def _clock(self, local: datetime) -> str:
        """The time of a moment of today, the day of another."""
        today = local.date() == self.at.astimezone(self.zone).date()
        return f"{local:%H:%M}" if today else date_format(local, _("j M"))

    def causes(self, found: Iterable[Fallen]) -> str:
        """Why, the most frequent first; with how many of each where there are several."""
        counted: Counter[str] = Counter()
        for each in found:
            counted[each.cause] += len(each.tags)
        if len(counted) == 1:
            return self.theirs[next(iter(counted))]
        told = self.say["one of several"]
        return "; ".join(told % {"n": n, "cause": self.theirs[cause]} for cause, n in counted.most_common())

    def following(self, coming: Sequence[Fallen]) -> list[str]:
        """The next of them, with those that follow at once; [] where there are none."""
        if not coming:
            return []
        count = pieces_in(each for each in coming if each.at <= coming[0].at + TOGETHER)
        return [self.say["next"] % {"n": count, "time": self._clock(coming[0].at.astimezone(self.zone))}]


def pieces_in(found: Iterable[Fallen]) -> int:
    return sum(len(each.tags) for each in found)


def tags(found: Iterable[Fallen]) -> SafeString:
    """As _partials/tag.html: written here, and all escaped at once, because there may be thousands."""
    codes = escape("\n".join(tag for each in found for tag in each.tags)).split("\n")
    return mark_safe(" ".join(f'<a class="tag" href="/gear/{code}/">{code}</a>' for code in codes))  # noqa: S308


def _bath(each: BathNow, at: datetime) -> BathLine:
    what = names.recipe(each.recipe) or _("A dip bath")
    if each.flaw == "too_old" and each.good_until:
        why = _("too old since %(time)s: empty it as its label says, and mix another")
        return BathLine(each.good_until, what, why % {"time": moment(each.good_until)}, wants=True)
    if each.flaw:
        why = _("no dip in it counts: %(why)s") % {"why": _(bath.WORDS[each.flaw])}
        return BathLine(None, what, why, wants=True)
    left = length(each.good_until - at) if each.good_until else ""
    return BathLine(each.good_until, what, _("good for another %(span)s") % {"span": left}, wants=False)
