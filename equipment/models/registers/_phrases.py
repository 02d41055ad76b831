"""Cells that are a phrase with something filled in, and the answers to a checklist's points.

Both go by a key that is JSON, so that a line holds values and no language; `documents.registers.words` says them. A
text stays as somebody wrote it, however much it looks like a number: a lot 007 is no lot 7.
"""

import json
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from django.utils.formats import date_format, number_format
from django.utils.translation import gettext

from equipment.models import checklists
from equipment.models.registers.base import Named

YES_NO = ("yes", "no")
# Units that the question itself says.
SAID_IN_QUESTION = frozenset({"people", "days"})


def word(text: str) -> Named:
    """A text that was marked for translation."""
    return Named("word", text)


def phrase(template: str, **params: Any) -> Named:
    """A template that was marked for translation; `params` are texts, numbers and dates."""
    return Named("phrase", _key([template, {name: _held(value) for name, value in params.items()}]))


def answer(checklist: str, point: str, given: Any) -> Named:
    """What was answered to a point of a checklist. Of no checklist (""), `point` is itself the text that is asked, as
    are the names of what belongs in a first-aid kit."""
    return Named("answer", _key([checklist, point, _held(given)]))


def say_phrase(key: str) -> str:
    template, params = json.loads(key)
    return gettext(template) % {name: _said(value) for name, value in params.items()}


def say_answer(key: str) -> str:
    """ "Length: 3.6 m"; the code of a point that the catalogue does not know any more."""
    checklist, code, given = json.loads(key)
    points = checklists.by_code()[checklist].point if checklist in checklists.by_code() else ()
    point = next((each for each in points if each.code == code), None)
    if given in YES_NO:
        value = gettext(given)
    elif point is not None and point.answer == "number" and (read := number(given)) is not None:
        # The book keeps a number with a point as a text.
        value = _said(_held(read))
    else:
        value = _said(given)
    if point is not None and point.unit and point.unit not in SAID_IN_QUESTION:
        value = f"{value} {gettext(point.unit)}"
    return f"{gettext(point.ask if point else code).strip('¿?:')}: {value}"


def number(value: Any) -> Decimal | None:
    """What a detail holds of a number, without the zeros at its end that say nothing; None for no number."""
    try:
        found = Decimal(str(value)).normalize() + 0
    except InvalidOperation:
        return None
    return found if found.is_finite() else None


def _key(parts: list[Any]) -> str:
    return json.dumps(parts, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def _held(value: Any) -> Any:
    """As JSON that tells a number and a day from a text."""
    if isinstance(value, Decimal | float):
        return {"number": format(Decimal(str(value)), "f")}
    return {"day": value.isoformat()} if isinstance(value, date) else value


def _said(value: Any) -> str:
    if isinstance(value, bool):
        return gettext("yes") if value else gettext("no")
    if isinstance(value, dict):
        if "day" in value:
            return date_format(date.fromisoformat(value["day"]), gettext("j M Y"))
        return str(number_format(Decimal(value["number"])))
    return str(number_format(value)) if isinstance(value, int) else str(value)
