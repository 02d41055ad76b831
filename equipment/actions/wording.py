"""The words of a code, translated and filled in: the same at the counter, on a page and in the API."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime
from functools import lru_cache
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from equipment.actions import names
from equipment.domain import gate
from equipment.domain.clock import CAUSES
from equipment.domain.condition import CONTENTS
from equipment.domain.gate import Reason
from equipment.domain.refusals import REFUSALS
from equipment.domain.words import gettext_noop

STAYS = {
    "sterilise": gettext_noop(
        "%(tag)s is not sterile since %(since)s: %(cause)s. Dip it first, or give another."
    ),
    "wash": gettext_noop(
        "%(tag)s must be washed, since %(since)s: %(cause)s. Wash it first, or give another."
    ),
    "dry": gettext_noop("%(tag)s must be dried, since %(since)s: %(cause)s. Dry it first, or give another."),
}
GOES = {
    "sterilise": gettext_noop("It should be sterilised, since %(since)s: %(cause)s."),
    "wash": gettext_noop("It should be washed, since %(since)s: %(cause)s."),
    "dry": gettext_noop("It should be dried, since %(since)s: %(cause)s."),
}
WAITS = gettext_noop(
    "%(tag)s stays here: %(fault)s is mended, but nobody has looked at it and passed it yet."
)
FAULTY = gettext_noop("%(tag)s stays here: %(fault)s, found %(since)s. Set it aside for the mender.")
OVERDUE = gettext_noop(
    "%(tag)s stays here: %(fault)s was to be mended by %(since)s. Set it aside for the mender."
)
INSPECT = gettext_noop(
    "%(tag)s stays here: its inspection (%(checklist)s) is due since %(since)s. Inspect it first, or give another."
)
LOOK = gettext_noop("Look it over first: %(checklist)s.")
OLD = gettext_noop("%(tag)s stays here: what belongs in it is past its date since %(since)s.")
FLAGGED = gettext_noop("%(tag)s stays here: it may carry %(disease)s, until a cleaning that kills it.")
REVOKED = gettext_noop(
    "This phone was taken off the list. What it wrote is kept, and waits for the safety officer."
)
INSTEAD = gettext_noop("Take %(instead)s instead.")
LET_GO = gettext_noop("Let go all the same, with a written why: %(what)s.")
WHO_MAY = {
    gate.OFFICER: gettext_noop("The safety officer may let it go with a written why."),
    gate.STORE: gettext_noop("The storeman or the safety officer may let it go with a written why."),
}
NOBODY_MAY = {
    "stop_use": gettext_noop("Nobody may let it go before it is mended."),
    "disease_flag": gettext_noop("Nobody may let it go before a cleaning that kills the disease."),
}
NOBODY_PASSED = gettext_noop("Nobody may let it go before somebody has looked at the mend and passed it.")
NOBODY = gettext_noop("Nobody may let that pass.")


def reason(found: Reason, params: Mapping[str, Any]) -> str:
    """What one reason of the gate says, with since when and what to do."""
    words = {**params, **found.params, "since": moment(found.params.get("since"))}
    words["fault"] = names.fault(found.params.get("fault", ""))
    words["cause"] = _(CAUSES[found.params["cause"]]) if found.params.get("cause") else None
    words["disease"] = names.disease(found.params.get("disease", ""))
    words["checklist"] = names.checklist(found.params.get("checklist", ""))
    return filled(_template(found), words)


def who_may(found: Reason) -> str:
    """Who may let this reason pass."""
    if found.override:
        return _(WHO_MAY[found.override])
    if found.code == "stop_use" and found.params.get("waits"):
        return _(NOBODY_PASSED)
    return _(NOBODY_MAY.get(found.code, NOBODY))


def let_go(found: Iterable[Reason]) -> str:
    """What was overridden, of what was recorded."""
    return filled(LET_GO, {"what": ", ".join(dict.fromkeys(_(each.words) for each in found))})


def _template(found: Reason) -> str:
    match found.code:
        case "stop_use":
            return WAITS if found.params.get("waits") else FAULTY
        case "mend_overdue":
            return OVERDUE
        case "cleaning_due":
            return (STAYS if found.blocks else GOES)[found.params["method"]]
        case "inspection_due" if found.params["checklist"] == CONTENTS:
            return OLD
        case "inspection_due":
            return INSPECT if found.blocks else LOOK
        case "disease_flag":
            return FLAGGED
    return REFUSALS.get(found.code, found.code)


def moment(at: Any) -> str | None:
    """A time in the farm's day: the clock for today, the day as well for others."""
    if at is None:
        return None
    local = timezone.localtime(at)
    return _clock(local, local.date() == timezone.localdate(), get_language())


@lru_cache(maxsize=1024)
def _clock(local: datetime, today: bool, language: str | None) -> str:
    """Remembered, because all of a crew's gear falls due at one moment, and is asked about again and again."""
    return date_format(local, "H:i" if today else _("j F H:i"))


def refusal(code: str, params: Mapping[str, Any]) -> str:
    """What a refusal means and what to do instead; the code itself where it has no words."""
    template = REVOKED if params.get("revoked") else REFUSALS.get(code)
    return filled(template, params) if template else code


def filled(template: str, params: Mapping[str, Any]) -> str:
    """The template in the reader's language; a parameter that is not known shows as an ellipsis."""
    known = {key: value for key, value in params.items() if value is not None}
    return _(template) % defaultdict(lambda: "…", known)


class NotDone(ValueError):
    """What was asked for cannot be done; the message says why and what to do, in the reader's language."""
