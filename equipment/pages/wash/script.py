"""Every word that the wash script says, in the language of the page, and the addresses that it asks."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.domain import codes
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.domain.refusals import REFUSALS
from equipment.pages.counter.here import counter_of
from equipment.pages.wash.here import at_store
from equipment.pages.wash.ways import Known

CODE = "CODE"
AGAINST = (
    "too_short dirt_first no_recipe wrong_recipe not_mixed emptied too_weak product_expired wrong_ph too_old spent "
    "test_failed written_off no_right unknown_bath unknown_item"
).split()

WORDS: dict[str, Any] = {
    "ready": gettext_lazy("Scan the pieces in, one after the other"),
    "ready_how": gettext_lazy("Scan the label of a bucket to choose that bath."),
    "choose": gettext_lazy("Which bath?"),
    "choose_how": gettext_lazy("Scan the label of a bucket, or choose above."),
    "chosen": gettext_lazy("Now: %(way)s"),
    "is_in": gettext_lazy("It is in already"),
    "is_in_how": gettext_lazy("Go on with the next piece."),
    "not_a_code": gettext_lazy("Not one of ours"),
    "wrong_check": gettext_lazy("Misread"),
    "again": gettext_lazy("Scan the label again, or type the letters and digits printed on it."),
    "no_bath": gettext_lazy("No bath to dip in"),
    "no_bath_how": gettext_lazy("It is not of this store, or takes no more. Mix one."),
    "no_such_tag": gettext_lazy("Not here"),
    "no_such_tag_how": gettext_lazy("Of the counter tags, “Undo the last scan” and “Finish” work here."),
    "no_line": gettext_lazy("No line to the book"),
    "no_line_scan": gettext_lazy("This piece could not be looked up, and is not in the list."),
    "no_line_scan_how": gettext_lazy("Scan it again when the line is back. The timer runs on."),
    "no_line_out": gettext_lazy(
        "The pieces are out, and not written down yet. This page keeps trying: leave it open."
    ),
    "signed_out": gettext_lazy("You are signed out"),
    "signed_out_how": gettext_lazy("Sign in again; what is in the bath is kept here."),
    "refused": gettext_lazy("Not written down"),
    "full": gettext_lazy("This group is full"),
    "full_how": gettext_lazy("Take these out first, then go on with the next ones."),
    "nothing_in": gettext_lazy("Nothing is in"),
    "nothing_in_how": gettext_lazy("Scan the pieces in first."),
    "nothing_to_undo": gettext_lazy("Nothing to undo"),
    "undone": gettext_lazy("Not in it after all"),
    "too_early": gettext_lazy("Too early: %(left)s to go"),
    "too_early_why": gettext_lazy("Taken out now, it is written down and does not count."),
    "too_early_how": gettext_lazy("Leave them in. Or “Finish” once more, to take them out all the same."),
    "time_up": gettext_lazy("Time is up: take them out"),
    "done_sterilise": gettext_lazy("Sterilised: %(count)s"),
    "done_wash": gettext_lazy("Washed: %(count)s"),
    "done_dry": gettext_lazy("Dried: %(count)s"),
    "done_before": gettext_lazy("In the book already: %(count)s. The bath's page says what counts."),
    "not_counting": gettext_lazy("Written down, but %(count)s do not count"),
    "of_which": gettext_lazy("%(tags)s: %(why)s"),
    "left_out": gettext_lazy("Taken off the list: %(tags)s. Press “Out” again for the others."),
    "pieces": gettext_lazy("Pieces: %(count)s"),
    "still": gettext_lazy("still to go"),
    "over": gettext_lazy("time is up, since %(over)s"),
    "waiting": gettext_lazy("waits for the line to the book"),
    "fault": gettext_lazy("Something went wrong here"),
    "fault_how": gettext_lazy(
        "Scan it again. If it happens twice, load the page again: what is in the bath is kept."
    ),
}

TAGS = [
    {"name": name, "key": tag.key, "words": words}
    for tag in COUNTER_TAGS.values()
    for name, words in {"undo": tag.words, "finish": gettext_lazy("Out")}.items()
    if tag.name == name
]


def for_script(request: HttpRequest, store: str, found: Mapping[str, Known]) -> dict[str, Any]:
    """One JSON block. `device` is null where this browser is no counter: the script then keeps a number of its own."""
    counter = counter_of(request)
    device = counter.pk if counter and counter.store_id == store else None
    return {
        "user": request.user.pk,
        "device": str(device) if device else None,
        "store": store,
        "urls": {
            "entries": reverse("api:entries"),
            "check": at_store(reverse("wash_check", args=[CODE]), store),
        },
        "ways": [way.for_script() for way in found.values()],
        "tags": {tag.number: tag.name for tag in COUNTER_TAGS.values()},
        "keys": {tag["key"]: tag["name"] for tag in TAGS},
        "counter": codes.COUNTER,
        "words": {name: str(text) for name, text in WORDS.items()},
        "against": {code: _(REFUSALS[code]) for code in AGAINST},
    }


def no_such_way() -> dict[str, Any]:
    """The bath was emptied, or went bad, since the page was opened."""
    words = {name: str(WORDS[name]) for name in ("no_bath", "no_bath_how")}
    return {
        "outcome": "no",
        "say": words["no_bath"],
        "why": [],
        "instead": words["no_bath_how"],
        "tag": "",
        "about": "",
    }
