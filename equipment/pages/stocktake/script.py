"""Every word that the stocktake script says, in the language of the page, and the addresses that it asks."""

from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext_lazy

from equipment.domain import codes
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.models import Stocktake

WORDS: dict[str, Any] = {
    "ready": gettext_lazy("Scan the pieces, one after the other"),
    "misread": gettext_lazy("Misread"),
    "again": gettext_lazy("Scan the label again, or type what is printed on it."),
    "no_such_tag": gettext_lazy("Not here"),
    "no_such_tag_how": gettext_lazy("Of the counter tags, “Undo the last scan” works here."),
    "kept": gettext_lazy("Kept here"),
    "kept_why": gettext_lazy("No line to the book. Go on: it is sent by itself when the line is back."),
    "waiting": gettext_lazy("No line to the book. Scans kept here, not written down yet: %(count)s"),
    "waiting_signed_out": gettext_lazy(
        "You are signed out. Scans kept here, not written down yet: %(count)s"
    ),
    "of_others": gettext_lazy("Scans of %(who)s wait here: they go when they sign in again."),
    "sent": gettext_lazy("Written down: %(count)s"),
    "put_aside": gettext_lazy("Put these aside: somebody settles them."),
    "told": gettext_lazy("%(tag)s: %(say)s"),
    "full": gettext_lazy("This browser has no room left"),
    "full_why": gettext_lazy("The scan was not kept and not written down."),
    "full_how": gettext_lazy("Wait until the others are sent, then scan it again."),
    "refused": gettext_lazy("Not written down"),
    "refused_how": gettext_lazy("Load the page again, then go on. What was scanned is kept here."),
    "undone": gettext_lazy("Taken back"),
    "nothing_to_undo": gettext_lazy("Nothing to undo"),
    "nothing_to_undo_why": gettext_lazy("Only the last scan of this page can be taken back."),
    "no_line": gettext_lazy("No line to the book"),
    "no_line_how": gettext_lazy("Try again when the line is back."),
    "fault": gettext_lazy("Something went wrong here"),
    "fault_how": gettext_lazy("Scan it again. If it happens twice, load the page again: what waits is kept."),
}

UNDO = next(tag for tag in COUNTER_TAGS.values() if tag.name == "undo")


def for_script(request: HttpRequest, stocktake: Stocktake) -> dict[str, Any]:
    user = request.user
    name = user.get_full_name() or user.get_username()  # type: ignore[union-attr]
    return {
        "user": {"id": user.pk, "name": name},
        "stocktake": str(stocktake.pk),
        "urls": {
            "scans": reverse("stocktake_scans", args=[stocktake.pk]),
            "unscan": reverse("stocktake_unscan", args=[stocktake.pk]),
        },
        "counter": codes.COUNTER,
        "undo": UNDO.number,
        "keys": {UNDO.key: "undo"},
        "words": {name: str(text) for name, text in WORDS.items()},
    }
