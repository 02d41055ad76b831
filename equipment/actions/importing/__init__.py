"""Lists from a spreadsheet into the farm: stores, crews, blocks, pickers, day plans and gear.

A file goes in whole or not at all, and every cell that stands in its way is named at once. A column left out leaves
what is known as it is; an empty cell empties it. The same file again changes nothing, but for gear without tags:
each row of it is new pieces each time, which is why a dry run says how many.
"""

from contextlib import nullcontext
from datetime import datetime

from django.db import IntegrityError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from crews.models import User
from equipment.actions.importing import blocks, crews, gear, pickers, plans, stores
from equipment.actions.importing.cells import check
from equipment.actions.importing.kinds import Given, ListKind
from equipment.actions.importing.reader import Sheet, Unreadable, read
from equipment.actions.importing.results import (
    MOST_SHOWN,
    BadCell,
    Changed,
    Difference,
    Findings,
    Missing,
    Result,
    bad,
)
from equipment.ledger import writing

__all__ = ["KINDS", "BadCell", "Changed", "Difference", "ListKind", "Missing", "Result", "import_list"]

_IN_ORDER = (stores, crews, blocks, pickers, plans, gear)
KINDS: dict[str, ListKind] = {module.KIND.name: module.KIND for module in _IN_ORDER}

MEANWHILE = gettext_noop("Somebody else wrote the same at the same moment. Nothing was imported: look again.")


def import_list(kind: str, data: bytes, by: User, at: datetime, *, dry_run: bool = False) -> Result:
    """Import the bytes of a CSV file of `kind` (a key of KINDS), or with `dry_run` only say what that would do.

    Nothing is written unless every row is good. Raises KeyError for a kind that is not one.
    """
    of = KINDS[kind]
    try:
        sheet = read(data, of.columns, of.required)
    except Unreadable as error:
        return _result(of, Sheet(), Findings(bad=list(error.bad)), dry_run)
    try:
        findings = _compared(of, sheet, by, at, dry_run)
    except IntegrityError:
        findings = Findings(bad=[bad(0, "", "", _(MEANWHILE))])
    return _result(of, sheet, findings, dry_run)


def _compared(of: ListKind, sheet: Sheet, by: User, at: datetime, dry_run: bool) -> Findings:
    """What the rows add and change; written as well where that is wanted and every cell is good."""
    lines, wrong = check(sheet.rows, of.line)
    wrong += [*sheet.bad, *of.twice(lines)]
    with nullcontext() if dry_run or wrong else writing():
        findings = of.compare(Given(lines, frozenset(sheet.columns), by, at))
        findings.bad += wrong
        if not dry_run and not findings.bad:
            findings.write()
    return findings


def _result(of: ListKind, sheet: Sheet, findings: Findings, dry_run: bool) -> Result:
    """Where a cell is bad, only what is bad: nothing else is going to happen."""
    if findings.bad:
        columns = ("", *of.columns)
        cells = sorted(
            findings.bad, key=lambda c: (c.line, columns.index(c.column) if c.column in columns else 0)
        )
        return Result(
            of.name, dry_run, len(sheet.rows), tuple(cells[:MOST_SHOWN]), len(cells), warnings=sheet.warnings
        )
    return Result(
        kind=of.name,
        dry_run=dry_run,
        rows=len(sheet.rows),
        added=tuple(findings.added),
        changed=tuple(findings.changed),
        unchanged=findings.unchanged,
        warnings=_shown([*sheet.warnings, *findings.warnings]),
        missing=tuple(findings.missing),
        new_pieces=findings.new_pieces,
        new_cards=findings.new_cards,
        act=findings.act,
    )


def _shown(warnings: list[str]) -> tuple[str, ...]:
    more = len(warnings) - MOST_SHOWN
    return (
        *warnings[:MOST_SHOWN],
        *([_("And %(count)d more like these.") % {"count": more}] if more > 0 else []),
    )
