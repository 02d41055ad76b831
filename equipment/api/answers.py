"""What the book answers, as JSON and in words."""

from collections.abc import Iterator
from typing import Any

from django.utils.translation import gettext as _
from rest_framework import serializers

from equipment.actions.batch import Answer, Received
from equipment.actions.wording import INSTEAD, filled, let_go, reason, refusal, who_may
from equipment.domain.gate import Reason
from equipment.domain.verbs import VERBS


class ErrorOut(serializers.Serializer[Any]):
    code = serializers.CharField()
    say = serializers.CharField()


class DiscrepancyOut(serializers.Serializer[Any]):
    key = serializers.CharField()
    code = serializers.CharField()
    entry = serializers.UUIDField()
    say = serializers.CharField()


class ReasonOut(serializers.Serializer[Any]):
    """What the gate has to say of a hand-out. `override` are the roles that may let it pass with a written why."""

    code = serializers.CharField()
    say = serializers.CharField()
    blocks = serializers.BooleanField()
    override = serializers.ListField(child=serializers.CharField())
    who_may = serializers.CharField()


class AnswerOut(serializers.Serializer[Any]):
    id = serializers.CharField()
    outcome = serializers.ChoiceField(["recorded", "known", "refused"])
    code = serializers.CharField(required=False)
    codes = serializers.ListField(child=serializers.CharField(), required=False)
    say = serializers.CharField()
    reasons = ReasonOut(many=True, required=False, help_text="The gate's, of a hand-out.")
    may_override = serializers.BooleanField(
        required=False, help_text="Of a refused hand-out: whether who asked may override it."
    )
    discrepancies = DiscrepancyOut(many=True)
    state = serializers.DictField(
        allow_null=True,
        help_text="The subject now. Of a refused hand-out also `instead`: the tag of another fit piece, or null.",
    )


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
    if answer.reasons:
        shown["reasons"] = [_reason(each, answer) for each in answer.reasons]
    if answer.may_override is not None:
        shown["may_override"] = answer.may_override
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


def _reason(found: Reason, answer: Answer) -> dict[str, Any]:
    return {
        "code": found.code,
        "say": reason(found, answer.params),
        "blocks": found.blocks,
        "override": list(found.override),
        "who_may": who_may(found) if found.blocks else "",
    }


def say(answer: Answer) -> str:
    """One or a few sentences for the person at the counter."""
    if answer.outcome == "known":
        return _("Already in the book.")
    if answer.outcome == "refused":
        instead = [filled(INSTEAD, answer.params)] if answer.params.get("instead") else []
        return " ".join([*_against(answer), *instead])
    verb = VERBS[answer.verb]
    said = filled(verb.say_but if answer.codes and verb.say_but else verb.say, answer.params)
    return " ".join([said, *_beside(answer)])


def _against(answer: Answer) -> Iterator[str]:
    """Of a refusal, a sentence for each reason of the gate and for each code that has none; where somebody tried to
    override it, also who may."""
    for code in answer.codes:
        own = [each for each in answer.reasons if each.code == code and each.blocks]
        if not own:
            yield refusal(code, answer.params)
        for each in own:
            yield reason(each, answer.params)
            if code in answer.overridden:
                yield who_may(each)


def _beside(answer: Answer) -> Iterator[str]:
    """What is said to something that was recorded all the same."""
    let_pass = [each for each in answer.reasons if each.blocks and each.code in answer.overridden]
    if let_pass:
        yield let_go(let_pass)
    for code in answer.codes:
        own = [each for each in answer.reasons if each.code == code]
        if not own:
            yield refusal(code, answer.params)
        yield from (reason(each, answer.params) for each in own if each not in let_pass)
