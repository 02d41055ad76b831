"""What a verification found, in words: for the page, and for whoever is to answer for it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.urls import reverse
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from crews import policy
from crews.models import User
from equipment.actions.verify_printing import Verdict, entries_named
from equipment.actions.verify_printing.heads import Rewritten
from equipment.documents.registers.facts import Facts
from equipment.models import Entry, ItemState
from equipment.models.registers import REGISTERS
from equipment.pages.registers.printings import query_of
from equipment.pages.registers.showing import Row, rows_of


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is not as it was sealed; `tags` are the pieces that it is about, `here`: it has a line on this
    paper."""

    words: str
    tags: Sequence[str] = ()
    here: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """What came since, of one sort: `rows` are the first of `count`."""

    title: str
    count: int
    rows: Sequence[Row]


def said(user: User, verdict: Verdict) -> dict[str, Any]:
    """The context of `_partials/verified.html`; lines are shown to those who may print them."""
    printing = verdict.printing
    may_see = policy.may_print(user, printing.register)
    return {
        "verdict": verdict,
        "printing": printing,
        "facts": Facts.of(printing),
        "problems": list(_problems(verdict)),
        "more": verdict.problems.found - len(verdict.problems.findings),
        "parts": list(_parts(verdict, may_see)),
        "head": [_(column.head) for column in REGISTERS[printing.register].sealed],
        "since": verdict.since,
        "may_see": may_see,
        "again": reverse("printing", args=[printing.code]) if may_see and verdict.agrees else "",
        "now": f"{reverse('register', args=[printing.register])}?{query_of(printing)}" if may_see else "",
    }


def _problems(verdict: Verdict) -> Iterator[Problem]:
    """The gravest first."""
    problems = verdict.problems
    if not verdict.record_agrees:
        yield Problem(_record(verdict))
    for each in problems.rewritten:
        yield Problem(_rewritten(each))
    if (verdict.lines, verdict.digest) != (verdict.printing.lines, verdict.printing.digest):
        yield Problem(_differing(verdict))
    tags = _tags(entries_named(problems.findings))
    for finding in problems.findings:
        named = entries_named([finding])
        on_pieces = [tags[entry] for entry in named if entry in tags]
        yield Problem(str(finding), on_pieces, bool(named & problems.on_paper))
    for finding in problems.gear:
        yield Problem(str(finding))


def _record(verdict: Verdict) -> str:
    if verdict.paper_agrees:
        return _(
            "What was kept of this printing was changed: its digest is not that of the paper. The lines of the book "
            "still are those of the paper."
        )
    return _(
        "The digest on the paper is not the one that was kept of this printing. Either what was kept was changed, or "
        "this paper is not the one that was printed."
    )


def _differing(verdict: Verdict) -> str:
    words = {"then": number_format(verdict.printing.lines), "now": number_format(verdict.lines)}
    said = _("The lines of the book, as of then, are not those that were printed.")
    if verdict.lines != verdict.printing.lines:
        said = _("%(then)s lines were printed; as of then the book now has %(now)s.") % words
    if verdict.outdated:
        return f"{said} " + _(
            "They cannot be: this version of Shedbook makes the lines of this register otherwise than the one that "
            "printed it. What it can check are the seals of the book, above and below."
        )
    if verdict.problems.found or verdict.problems.rewritten or verdict.problems.gear:
        return said
    return f"{said} " + _(
        "Every entry fits its digest all the same: what was kept of the printing was changed. Lay the paper beside the "
        "register as it is made now."
    )


def _rewritten(found: Rewritten) -> str:
    words = {
        "line": f"{found.store} {found.position}",
        "printed": found.printed,
        "digest": found.digest,
        "good": f"{found.store} {found.good}",
        "witness": found.witness,
    }
    said = _(
        "The book of this store was written anew: line %(line)s was printed with the digest %(printed)s and bears "
        "%(digest)s now."
    )
    if found.good:
        said += " " + _("Up to line %(good)s it still is as printing %(witness)s has it.")
    return said % words


def _tags(entries: Iterable[UUID]) -> dict[UUID, str]:
    """The label of the piece that each entry is about, where it is about one. Two queries."""
    items = dict(Entry.objects.filter(pk__in=list(entries), item__isnull=False).values_list("pk", "item"))
    worn = dict(ItemState.objects.filter(pk__in=items.values()).values_list("pk", "tag"))
    return {entry: worn[item] for entry, item in items.items() if worn.get(item)}


def _parts(verdict: Verdict, may_see: bool) -> Iterator[Part]:
    since, register = verdict.since, REGISTERS[verdict.printing.register]
    added, gone, changed = since.added, since.gone, since.changed
    sorts = (
        (added, ngettext("%(n)s line was added since", "%(n)s lines were added since", added.count)),
        (gone, ngettext("%(n)s line was taken back since", "%(n)s lines were taken back since", gone.count)),
        (changed, ngettext("%(n)s line says more since", "%(n)s lines say more since", changed.count)),
    )
    for lines, title in sorts:
        if lines:
            rows = rows_of(register, lines.shown) if may_see else ()
            yield Part(title % {"n": number_format(lines.count)}, lines.count, rows)
