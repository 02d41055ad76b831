"""The audit on paper, and its lot as a list that anybody can draw from again."""

from collections.abc import Iterator

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from equipment.actions.audit.reading import Standing, standing
from equipment.documents.audit_report import Report, Row, audit_report
from equipment.documents.registers.leaves import A4, SIZES
from equipment.domain.audit import lot_digest
from equipment.models import Audit
from equipment.models.audits import GOOD
from equipment.models.registers import heads_now
from equipment.pages.audits import words
from equipment.pages.audits.lines import Line, lines
from equipment.pages.printing import pdf

SHORT = 16


def audit_lot(request: HttpRequest, number: int) -> HttpResponse:
    """The sorted tags, one a line: what the seed draws from."""
    audit = get_object_or_404(Audit, pk=number)
    text = "".join(f"{tag}\n" for tag in audit.lot)
    name = f'attachment; filename="audit-{audit.pk}-lot.txt"'
    return HttpResponse(text, content_type="text/plain; charset=utf-8", headers={"Content-Disposition": name})


def audit_report_pdf(request: HttpRequest, number: int) -> HttpResponse:
    rows = Audit.objects.select_related("kind", "store", "drawn_by", "closed_by")
    audit = get_object_or_404(rows, pk=number)
    size = SIZES.get(settings.PAPER_SIZE, A4)
    return pdf(audit_report(_report(standing(audit)), settings.FARM_NAME, size), f"audit-{audit.pk}")


def _report(now: Standing) -> Report:
    audit, found, told = now.audit, words.found(now), words.told(now.audit)
    open_yet = _("%(n)d of %(sample)d are not answered: nothing can be said of the lot.")
    missing = (open_yet % {"n": now.left, "sample": audit.sample},)
    return Report(
        title=_("Sampling audit %(number)d") % {"number": audit.pk},
        said=tuple(found.said) if found else missing,
        means=found.means if found else "",
        facts=tuple(_facts(now, told)),
        assumptions=tuple(told.assumptions)
        if not audit.every
        else (told.assumptions[1], told.assumptions[3]),
        draw=(
            told.how_drawn,
            _("The list of the lot has this SHA-256: %(it)s") % {"it": lot_digest(audit.lot)},
        ),
        cautions=tuple(told.cautions),
        rows=tuple(_row(each) for each in lines(audit, now, book=True)),
        book=tuple(_heads()),
    )


def _facts(now: Standing, told: words.Told) -> Iterator[tuple[str, str]]:
    audit, counts = now.audit, now.counts
    yield _("The lot"), told.lot
    yield _("Pieces in it"), f"{audit.count}. {told.left_out}" if told.left_out else str(audit.count)
    if told.why_all:
        yield _("Every piece"), told.why_all
    else:
        yield _("Asked"), told.limit
        yield (
            _("Drawn"),
            _("%(sample)d, with the seed %(seed)d") % {"sample": audit.sample, "seed": audit.seed},
        )
    yield _("Drawn by"), _signed(told.drawn_by, audit.drawn_at)
    figures = {
        "good": counts["good"],
        "faulty": counts["faulty"],
        "absent": counts["absent"],
        "left": now.left,
    }
    said = _("%(good)d good, %(faulty)d faulty, %(absent)d not there, %(left)d not answered")
    yield _("Answered"), said % figures
    open_yet = _("not closed yet: an answer can still change")
    yield _("Closed by"), _signed(told.closed_by, audit.closed_at) if audit.closed_at else open_yet
    if audit.why:
        yield _("Closed unfinished"), audit.why
    if now.struck:
        tags = ", ".join(answer.piece.tag for answer in now.struck)
        yield _("Taken back since"), _("In the book, the lines of: %(tags)s") % {"tags": tags}


def _row(line: Line) -> Row:
    answer = f"{line.words}: {line.faults}" if line.faults else line.words
    tag = line.tag if line.tag == line.worn else f"{line.tag} ({line.worn})"
    looked = _signed(line.by, line.at) if line.at else ""
    return Row(line.turn, tag, line.where, answer, looked, line.book, line.said not in ("", GOOD))


def _heads() -> Iterator[str]:
    for store, (position, digest) in sorted(heads_now().items()):
        yield _("Store %(store)s: line %(position)d, sealed %(digest)s") % {
            "store": store,
            "position": position,
            "digest": f"{digest[:SHORT]}…",
        }
    yield _("Printed %(when)s.") % {"when": date_format(timezone.localtime(), _("j F Y, H:i"))}


def _signed(who: str, at: object) -> str:
    return f"{who}, {date_format(timezone.localtime(at), _('j M Y H:i'))}"  # type: ignore[arg-type]
