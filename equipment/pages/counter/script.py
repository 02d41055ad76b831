"""What the counter's script is given: its words, its codes and addresses, and what it must know of kinds and faults."""

from typing import Any

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from crews import policy
from crews.models import Device, User
from equipment.actions.faults_of import faults_of
from equipment.actions.short_checks import short_checks
from equipment.domain import codes
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.domain.fault_tags import FAULT_TAGS
from equipment.models import Kind, rules
from equipment.pages.counter.words import CONDITIONS, REFUSED, WORDS

CODE = "CODE"
"""Stands in an address for the code that the script puts there."""


def for_script(user: User, here: Device) -> dict[str, Any]:
    """One JSON block; the script has no words and no addresses of its own."""
    kinds = list(Kind.objects.all())
    return {
        "user": {"id": user.pk, "name": user.get_full_name() or user.get_username()},
        "device": str(here.pk),
        "store": here.store_id,
        "urls": _urls(),
        "prefixes": {"badge": codes.BADGE, "crew": codes.CREW, "set": codes.SET, "counter": codes.COUNTER},
        "tags": {tag.number: tag.name for tag in COUNTER_TAGS.values()},
        "keys": {tag.key: tag.name for tag in COUNTER_TAGS.values()},
        "kinds": {kind.pk: str(kind) for kind in kinds},
        "kindOf": {kind.prefix: kind.pk for kind in kinds},
        "mayLend": policy.may_open(user, "counter_day_card", "POST"),
        "words": {name: str(text) for name, text in WORDS.items()},
        "refused": {
            code: {"say": str(say), "why": str(why), "instead": str(instead)}
            for code, (say, why, instead) in REFUSED.items()
        },
        "conditions": list(CONDITIONS),
        "faults": _faults([kind.pk for kind in kinds]),
        "checks": _checks(),
    }


def _faults(kinds: list[str]) -> dict[str, Any]:
    """`ofKind` {kind: faults in the order asked}, `names`, `tags` {number of a fault tag: fault}, and `stops`: those
    that keep a piece here."""
    of_kind = {kind: faults_of(kind) for kind in kinds}
    every = {fault.code: fault for faults in of_kind.values() for fault in faults}
    in_force = rules.rules_at(timezone.now())
    return {
        "ofKind": {kind: [fault.code for fault in faults] for kind, faults in of_kind.items()},
        "names": {code: _(fault.name) for code, fault in every.items()},
        "tags": {FAULT_TAGS[code]: code for code in every},
        "stops": [code for code in every if in_force.fault(code).severity == "stop_use"],
    }


def _checks() -> dict[str, Any]:
    """Kind -> the detail of the `inspected` that one "all good" writes."""
    return {
        kind: {"checklist": check.checklist, "answers": check.answers}
        for kind, check in short_checks(timezone.now()).items()
    }


def _urls() -> dict[str, str]:
    return {
        "entries": reverse("api:entries"),
        "kit": reverse("counter_kit", args=[CODE]),
        "owes": reverse("counter_owes", args=[CODE]),
        "set": reverse("counter_set", args=[CODE]),
        "figures": reverse("counter_figures", args=[CODE]),
        "sheet": reverse("counter_sheet"),
        "dayCard": reverse("counter_day_card"),
        "newPicker": reverse("counter_new_picker"),
    }
