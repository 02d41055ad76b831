"""A stocktake as the rows of its report, in the reader's language."""

import hashlib
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from crews.models import Store
from equipment.actions.stocktake.begin import heads
from equipment.documents.stocktake_rows import ChainLine, KindLine, PieceLine, Report
from equipment.domain import chain
from equipment.domain.stocktake import SETTLED, WAS
from equipment.models import Entry, Stocktake, UnknownTag, stocktaking
from equipment.models.stocktaking import Count, Line
from equipment.pages.stocktake import words
from equipment.pages.stocktake.words import Names, name_of


def report(own: Stocktake, at: datetime) -> Report:
    """Of one that ended, as it was kept then; else as it stands at `at`."""
    found = stocktaking.count(own)
    names, told = Names(found.lines.values(), dated=True), _Told(own, found)
    rows = _Rows(found, names)
    day = date_format(timezone.localtime(own.begun_at), _("j F Y"))
    return Report(
        title=_("Stocktake of %(store)s, %(day)s") % {"store": own.store.name, "day": day},
        counted=words.counted(own),
        begun=_("Begun %(when)s by %(who)s") % {"when": _when(own.begun_at), "who": name_of(own.begun_by)},
        ended=_ended(own),
        kinds=[
            KindLine(str(each.kind), str(each.place), each.expected, each.seen, each.left, each.accounted)
            for each in words.progress(found).rows
        ],
        people=told.people(names),
        surprises=[*map(rows.piece, told.surprises), *map(rows.label, found.unknown)],
        unseen=[*map(rows.piece, told.unseen)],
        meanwhile=[*map(rows.piece, found.having("elsewhere"))],
        seen=told.tags(names),
        chains=[
            *_chains(own.begun_heads, own.begun_at),
            *_chains(own.ended_heads or heads(), own.ended_at or at),
        ],
        why_open=own.why_open,
        late=_late(own),
        digest=hashlib.sha256(chain.written(own.result)).hexdigest() if own.ended_at else "",
    )


class _Told:
    def __init__(self, own: Stocktake, found: Count) -> None:
        lines = sorted(found.lines.values(), key=lambda line: (line.kind, line.tag))
        self.seen = [line for line in lines if line.seen]
        self.surprises = [line for line in self.seen if line.surprise or line.standing == "settled"]
        self.unseen = [line for line in lines if not line.seen and line.standing in ("left", "settled")]

    def people(self, names: Names) -> Sequence[tuple[str, int]]:
        counted = Counter(line.seen.by for line in self.seen if line.seen)
        return [(names.user(by), count) for by, count in counted.most_common()]

    def tags(self, names: Names) -> Mapping[str, Sequence[str]]:
        tags: dict[str, list[str]] = defaultdict(list)
        for line in self.seen:
            tags[str(names.kinds[line.kind].name_plural)].append(line.tag)
        return {_(kind): those for kind, those in tags.items()}


class _Rows:
    """Pieces and labels as rows; a settlement is followed by its place in the book, "HOME 13352"."""

    def __init__(self, found: Count, names: Names) -> None:
        self.names = names
        told = [line.settled.entry for line in found.lines.values() if line.settled]
        told += [row.entry for row in found.unknown if row.entry]
        rows = Entry.objects.filter(pk__in=told).values_list("pk", "store", "position")
        self._places = {pk: f"{store} {position}" for pk, store, position in rows}

    def piece(self, line: Line) -> PieceLine:
        settled = line.settled if line.standing == "settled" else None
        kind, seen = str(self.names.kinds[line.kind]), self.names.told(line.seen) if line.seen else ""
        if settled is None:
            what = f"{words.standing(line.standing)}; {self.names.where(line)}"
            return PieceLine(line.tag, kind, what, seen, "", line.standing != "elsewhere")
        what = words.standing(WAS.get(settled.said, "left") if line.seen else "left")
        how = self.names.settled(settled), self.names.told(settled), self._places.get(settled.entry)
        return PieceLine(line.tag, kind, what, seen, "; ".join(filter(None, how)))

    def label(self, row: UnknownTag) -> PieceLine:
        what, seen = words.standing("unknown"), self.names.who_when(row.by, row.at)
        if not row.choice:
            return PieceLine(row.text, "", what, seen, "", True)
        place = self._places.get(row.entry) if row.entry else None
        how = _(SETTLED[row.choice]), self.names.who_when(row.settled_by, row.settled_at), place
        return PieceLine(row.text, "", what, seen, "; ".join(filter(None, how)))


def _ended(own: Stocktake) -> str:
    if own.ended_at is None:
        return ""
    return _("Ended %(when)s by %(who)s") % {"when": _when(own.ended_at), "who": name_of(own.ended_by)}


def _when(at: datetime) -> str:
    return date_format(timezone.localtime(at), _("j F Y, H:i"))


def _chains(known: Mapping[str, Any], at: datetime) -> list[ChainLine]:
    stores = dict(Store.objects.values_list("pk", "name"))
    return [
        ChainLine(stores.get(store, store), _when(at), position, digest)
        for store, (position, digest) in known.items()
    ]


def _late(own: Stocktake) -> list[str]:
    """Labels of what was scanned before the end and came in after it."""
    if own.ended_at is None:
        return []
    rows = Entry.objects.filter(act=own.pk, verb="seen", recorded_at__gt=own.ended_at)
    known = set(own.result["unknown"])
    unknown = [each.text for each in own.unknown.all() if str(each.pk) not in known]
    return [*rows.values_list("item__state__tag", flat=True).order_by("happened_at", "id"), *unknown]
