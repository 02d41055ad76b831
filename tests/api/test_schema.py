"""What the API says of itself is true: the description is valid, and real answers are as it says."""

import json
from typing import Any

import jsonschema
import pytest
from django.core.management import call_command
from django.utils import timezone

from equipment.actions.change_crew import leave
from equipment.actions.writing import new_id
from equipment.api.answers import say
from equipment.domain import codes, gate
from equipment.domain.contradictions import CONTRADICTIONS
from equipment.domain.refusals import REFUSALS
from equipment.domain.verbs import VERBS
from tests.cast import Farm
from tests.farm import Post

# Of the contract: codes of the gate, and those beside them.
OF_THE_CONTRACT = set(
    "other_store already_out missing written_off wrong_size malformed unknown_item unknown_picker unknown_crew"
    " unknown_bath wrong_check picker_left no_right id_reused not_out act_refused not_reversible".split()
)


READING = {
    "/api/items/",
    "/api/items/{tag}/",
    "/api/pickers/",
    "/api/pickers/{badge}/kit/",
    "/api/crews/",
    "/api/blocks/",
    "/api/stores/",
    "/api/board/",
}


@pytest.fixture
def described(client_of: Any) -> dict[str, Any]:
    response = client_of("rosa").get("/api/schema/?format=json")
    assert response.status_code == 200
    whole: dict[str, Any] = json.loads(response.content)
    return whole


def test_the_description_is_valid_and_complete(tmp_path: Any) -> None:
    call_command("spectacular", "--validate", "--fail-on-warn", "--file", str(tmp_path / "openapi.yaml"))


def conforms(
    answer: Any, path: str, described: dict[str, Any], method: str = "get", status: int = 200
) -> None:
    """Checks the answer by the schema that stands at its place; OpenAPI's `nullable` becomes JSON Schema's null."""
    responses = described["paths"][path][method]["responses"]
    schema = responses[str(status)]["content"]["application/json"]["schema"]
    whole = _nulled({"components": described["components"], **schema})
    jsonschema.Draft202012Validator(whole).validate(answer)


def _nulled(schema: Any) -> Any:
    if isinstance(schema, list):
        return [_nulled(each) for each in schema]
    if not isinstance(schema, dict):
        return schema
    inner = {key: _nulled(value) for key, value in schema.items() if key not in ("nullable", "readOnly")}
    return {"anyOf": [inner, {"type": "null"}]} if schema.get("nullable") else inner


def test_every_reading_endpoint_answers_as_described(
    farm: Farm, client_of: Any, post: Post, described: Any
) -> None:
    farm.plan("red", "N4")
    bag, ladder = farm.gear("bag", days_ago=1) + farm.gear("ladder", days_ago=1, make="Anvil", price="99.50")
    ana = farm.badges["ana"]
    post(
        farm.entry("handed_out", item=bag, picker=ana, at=timezone.now() - timezone.timedelta(days=1)),
        farm.entry("handed_out", item=ladder, crew=farm.crews["red"].pk, note="two for the tall trees"),
        gate="note",
    )
    client = client_of("rosa")
    for path in READING:
        response = client.get(path.format(tag=ladder, badge=ana))
        assert response.status_code == 200
        conforms(response.json(), path, described)
    conforms(client.get("/api/items/x/").json(), "/api/items/{tag}/", described, status=404)


def test_a_new_reading_endpoint_is_asked_too(described: Any) -> None:
    assert {path for path, methods in described["paths"].items() if "get" in methods} == READING


def provoke(farm: Farm, post: Post) -> dict[str, dict[str, Any]]:
    """One real answer for every code there is, by whatever way it comes about."""
    bag, out, gone, lost = farm.gear("bag", 4, days_ago=1)
    (glove,) = farm.gear("gloves", days_ago=1, size="S")
    (far,) = farm.gear("bag", store="B", days_ago=1)
    ana, ben, red = farm.badges["ana"], farm.badges["ben"], farm.crews["red"].pk
    farm.pickers["ana"].glove_size = "L"
    farm.pickers["ana"].save()
    used = farm.entry("handed_out", item=out, picker=ben)
    post(
        used,
        farm.entry("written_off", item=gone, detail={"circumstance": "lost"}),
        farm.entry("missed", item=lost),
    )
    leave(farm.pen(), [farm.pickers["cy"]])
    act = str(new_id())
    hand = {"picker": ana}
    asked: dict[str, tuple[dict[str, Any], ...]] = {
        "other_store": (farm.entry("handed_out", item=far, **hand),),
        "already_out": (farm.entry("handed_out", item=out, **hand),),
        "missing": (farm.entry("handed_out", item=lost, **hand),),
        "written_off": (farm.entry("handed_out", item=gone, **hand),),
        "wrong_size": (farm.entry("handed_out", item=glove, **hand),),
        "malformed": (farm.entry("lent", item=bag),),
        "unknown_item": (farm.entry("missed", item=codes.make("BG", 777)),),
        "unknown_picker": (farm.entry("handed_out", item=bag, picker=codes.make("PK", 777)),),
        "unknown_crew": (farm.entry("handed_out", item=bag, crew=codes.make("CW", 777)),),
        "unknown_bath": (farm.entry("reversed", bath=act, detail={"entry": act}),),
        "wrong_check": (farm.entry("missed", item="BG0001A"),),
        "picker_left": (farm.entry("handed_out", item=bag, picker=farm.badges["cy"]),),
        "id_reused": (used | {"picker": ana},),
        "not_out": (farm.entry("returned", item=bag),),
        "act_refused": (
            farm.entry("returned", item=bag, act=act),
            farm.entry("handed_out", item=bag, act=act, picker=ana),
        ),
        "not_reversible": (farm.entry("reversed", item=bag, detail={"entry": act}),),
        "not_in_crew": (farm.entry("parted", crew=red, picker=farm.badges["cy"]),),
    }
    found = {}
    for code, entries in asked.items():
        answers = post(*entries)
        found[code] = next((a for a in answers if code in a.get("codes", ())), answers[-1])
    (found["no_right"],) = post(farm.entry("missed", item=bag), name="mo")
    return found


def test_every_code_there_is_comes_about_and_has_words(farm: Farm, post: Post, described: Any) -> None:
    found = provoke(farm, post)
    for code, answer in found.items():
        assert code in answer["codes"], (code, answer)
        assert answer["outcome"] == ("recorded" if code == "wrong_size" else "refused")
        assert "…" not in answer["say"], (code, answer["say"])
        assert "%" not in answer["say"]
        assert "_" not in answer["say"]
        conforms({"answers": [answer], "heads": {}}, "/api/entries/", described, method="post")
    assert set(found) == set(REFUSALS) - {"registered_twice"}
    assert set(found) >= OF_THE_CONTRACT


def test_a_code_without_words_does_not_exist() -> None:
    """Every code of the gate and of a contradiction has words for a refusal, and the other way round."""
    assert set(gate.WORDS) <= set(REFUSALS)
    assert set(CONTRADICTIONS) <= set(REFUSALS)
    assert set(REFUSALS) == OF_THE_CONTRACT | set(CONTRADICTIONS)


def test_errors_of_the_whole_request_are_as_described(farm: Farm, client_of: Any, described: Any) -> None:
    client = client_of("rosa")
    for status, body in ((400, []), (413, farm.batch([{}] * 501))):
        response = client.post("/api/entries/", body, format="json")
        assert response.status_code == status
        conforms(response.json(), "/api/entries/", described, method="post", status=status)


def test_every_verb_can_be_said() -> None:
    """The words need nothing that an answer does not give."""
    from equipment.actions.batch import Answer

    params = {"tag": "BG0001A", "crew": "CW0001O", "who": "PK0001F", "to": "B", "kind": "bag"}
    for verb in VERBS.values():
        assert "…" not in say(Answer("", "recorded", verb.name, params=params)), verb.name
