"""What a spreadsheet says beside its table: what it is, what it is limited to, and which state of the book it shows."""

from collections.abc import Iterator

from django.conf import settings
from django.utils.translation import gettext as _

from equipment.documents.registers.cautioned import cautions
from equipment.documents.registers.facts import Facts


def about(facts: Facts) -> Iterator[tuple[str, str]]:
    """Name and value, a line each; notes and cautions have no name."""
    yield facts.title, settings.FARM_NAME
    yield _("Period"), facts.period
    yield _("Limited to"), facts.limited
    for note in facts.register.notes:
        yield "", _(note)
    for caution in cautions(facts.register.cautions):
        yield "", caution
    yield _("Printing"), facts.code
    yield "", facts.printed
    for where, digest in facts.lasting():
        yield _("The book stood at %(line)s") % {"line": where}, digest
    yield _("Digest of the lines"), facts.digest
    yield _("To check it"), facts.symbol
