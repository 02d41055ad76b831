"""What the book answers, as JSON and in words."""

from typing import Any

from django.utils.translation import gettext as _
from rest_framework import serializers

from equipment.actions.batch import Answer, Received
from equipment.actions.wording import filled, refusal
from equipment.domain.verbs import VERBS


class ErrorOut(serializers.Serializer[Any]):
    code = serializers.CharField()
    say = serializers.CharField()


class DiscrepancyOut(serializers.Serializer[Any]):
    key = serializers.CharField()
    code = serializers.CharField()
    entry = serializers.UUIDField()
    say = serializers.CharField()


class AnswerOut(serializers.Serializer[Any]):
    id = serializers.CharField()
    outcome = serializers.ChoiceField(["recorded", "known", "refused"])
    code = serializers.CharField(required=False)
    codes = serializers.ListField(child=serializers.CharField(), required=False)
    say = serializers.CharField()
    discrepancies = DiscrepancyOut(many=True)
    state = serializers.DictField(allow_null=True)


class HeadOut(serializers.Serializer[Any]):
    position = serializers.IntegerField()
    digest = serializers.CharField()


class ReceivedOut(serializers.Serializer[Any]):
    answers = AnswerOut(many=True)
    heads = serializers.DictField(child=HeadOut())


def received(result: Received) -> dict[str, Any]:
    heads = {
        store: {"position": head.position, "digest": head.digest} for store, head in result.heads.items()
    }
    return {"answers": [one(answer) for answer in result.answers], "heads": heads}


def one(answer: Answer) -> dict[str, Any]:
    shown: dict[str, Any] = {"id": answer.id, "outcome": answer.outcome}
    if answer.outcome == "refused":
        shown["code"] = answer.codes[0]
    if answer.codes:
        shown["codes"] = list(answer.codes)
    shown["say"] = say(answer)
    shown["discrepancies"] = [
        {
            "key": found.key,
            "code": found.code,
            "entry": str(found.entry),
            "say": refusal(found.code, answer.params),
        }
        for found in answer.discrepancies
    ]
    shown["state"] = answer.state
    return shown


def say(answer: Answer) -> str:
    """One or two sentences for the person at the counter."""
    if answer.outcome == "known":
        return _("Already in the book.")
    if answer.outcome == "refused":
        return " ".join(refusal(code, answer.params) for code in answer.codes)
    said = filled(VERBS[answer.verb].say, answer.params)
    return " ".join([said, *(refusal(code, answer.params) for code in answer.codes)])
