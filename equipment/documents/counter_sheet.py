"""The page of counter tags: laid on a counter or pinned beside it, scanned instead of touching the keyboard."""

from django.utils.translation import gettext as _

from equipment.documents.page import Paper
from equipment.documents.tag_sheet import Head, TagRow, tag_pages
from equipment.domain.counter_tags import COUNTER_TAGS


def counter_tags(farm: str) -> bytes:
    """One A4 page: every counter tag with a large symbol, its words and the key that does the same."""
    paper = Paper(_("Counter tags"), farm)
    lead = _("Scan one of these and go on scanning. The key does the same.")
    rows = [TagRow(tag.code, _(tag.words), tag.key) for tag in COUNTER_TAGS.values()]
    tag_pages(paper, Head(_("Counter tags"), lead), rows)
    return paper.finish()
