"""What the API says of itself is true: the description is valid, and real answers are as it says."""

import json
from typing import Any

import jsonschema
import pytest
from django.core.management import call_command
from django.utils import timezone

from equipment.actions.change_crew import leave
from equipment.actions.load_catalogue import load_catalogue
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
    "other_store already_out stop_use mend_overdue cleaning_due inspection_due disease_flag"
    " missing written_off wrong_size malformed unknown_item unknown_picker unknown_crew"
    " unknown_bath unknown_lot lot_expired wrong_check picker_left no_right id_reused not_out act_refused"
    " not_reversible".split()
)


READING = {
    "/api/items/",
    "/api/items/{tag}/",
    "/api/pickers/",
    "/api/pickers/{badge}/kit/",
    "/api/crews/",
    "/api/crews/{code}/sheet/",
    "/api/blocks/",
    "/api/stores/",
    "/api/board/",
    "/api/overdue/",
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
        response = client.get(path.format(tag=ladder, badge=ana, code=farm.crews["red"].pk))
        assert response.status_code == 200
        conforms(response.json(), path, described)
    conforms(client.get("/api/items/x/").json(), "/api/items/{tag}/", described, status=404)


def test_a_new_reading_endpoint_is_asked_too(described: Any) -> None:
    reading = {path for path, methods in described["paths"].items() if "get" in methods}
    # A photo answers no JSON; the others are asked in tests of their own, where they have something to tell.
    elsewhere = {"/api/photos/{sha256}/", "/api/trace/", "/api/plan/{day}/", "/api/figures/{name}/"}
    assert reading - elsewhere == READING


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
    return found | provoke_condition(farm, post)


def provoke_condition(farm: Farm, post: Post) -> dict[str, dict[str, Any]]:
    """The codes of condition and cleanliness, the rules being in force."""
    load_catalogue()
    found: dict[str, dict[str, Any]] = {}
    long_ago = timezone.now() - timezone.timedelta(days=3)

    def asks(code: str, *entries: dict[str, Any], gate: str = "hold", name: str = "rosa") -> None:
        found[code] = post(*entries, gate=gate, name=name)[-1]

    def gives(tag: str) -> dict[str, Any]:
        return farm.entry("handed_out", item=tag, picker=farm.badges["ana"])

    def fault(tag: str, code: str, **fields: Any) -> dict[str, Any]:
        return farm.entry("fault_found", item=tag, detail={"fault": code}, **fields)

    def mend(tag: str, code: str) -> dict[str, Any]:
        return farm.entry("mended", item=tag, detail={"fault": code, "method": "a new one", "minutes": 5})

    torn, scratched, flagged = farm.gear("bag", days_ago=5) + farm.gear("goggles", 2, days_ago=5)
    (ladder,) = farm.gear("ladder", days_ago=5)
    red = farm.crews["red"].pk
    post(fault(torn, "bag_hole"))
    asks("stop_use", gives(torn))
    asks("not_faulty", mend(torn, "bag_bottom"))
    asks("not_mended", farm.entry("released", item=torn, detail={"fault": "bag_hole"}))
    asks("inspection_due", farm.entry("handed_out", item=ladder, crew=red))
    post(fault(ladder, "ladder_wobble"), mend(ladder, "ladder_wobble"))
    asks("own_mend", farm.entry("released", item=ladder, detail={"fault": "ladder_wobble"}))
    post(fault(scratched, "goggles_scratched", at=long_ago - timezone.timedelta(days=1)), gate="note")
    asks("mend_overdue", gives(scratched))
    clippers = farm.gear("clippers", 9, days_ago=5)
    asks("cleaning_due", gives(clippers[0]))
    post(farm.entry("flagged", item=clippers[1], detail={"disease": "exocortis"}), name="olga")
    asks("disease_flag", gives(clippers[1]))
    return found | provoke_baths(farm, post, clippers[2:], flagged)


def provoke_baths(farm: Farm, post: Post, clippers: list[str], goggles: str) -> dict[str, dict[str, Any]]:
    """Dips that are written down and do not count."""
    now = timezone.now()
    found: dict[str, dict[str, Any]] = {}

    def mix(recipe: str = "clippers_daily_bleach", **more: Any) -> str:
        bath, at = str(new_id()), more.pop("at", now - timezone.timedelta(minutes=30))
        detail = {"recipe": recipe, "litres": 1, "product_ml": 100, "strength_pct": 5, **more}
        post(farm.entry("mixed", bath=bath, at=at, detail=detail), gate="note")
        return bath

    def dip(bath: str | None, seconds: int = 700, **fields: Any) -> dict[str, Any]:
        detail = {"method": "sterilise", "seconds": seconds}
        return farm.entry(
            "cleaned", item=clippers[0], **({"bath": bath} if bath else {}), detail=detail, **fields
        )

    good = mix()
    asked = {
        "mixed_twice": farm.entry(
            "mixed", bath=good, detail={"recipe": "clippers_daily_bleach", "litres": 1, "product_ml": 100}
        ),
        "too_short": dip(good, seconds=60),
        "no_recipe": dip(None),
        "wrong_recipe": dip(mix("surfaces_bleach", product_ml=20)),
        "not_mixed": dip(good, at=now - timezone.timedelta(minutes=40)),
        "too_weak": dip(mix(product_ml=10)),
        "product_expired": dip(mix(product_expires="2020-01-31")),
        "wrong_ph": dip(mix("canker_chlorine", product_ml=4, ph=8.2)),
        "too_old": dip(mix(at=now - timezone.timedelta(hours=9))),
    }
    for code, entry in asked.items():
        (found[code],) = post(entry, gate="note" if code == "not_mixed" else "hold")
    emptied, failed, small = mix(), mix(), mix(litres=0.1, product_ml=10)
    post(farm.entry("emptied", bath=emptied, detail={"where": "drain"}))
    (found["emptied"],) = post(dip(emptied))
    post(farm.entry("tested", bath=failed, detail={"ppm": 200, "diluted": 10}))
    (found["test_failed"],) = post(dip(failed))
    found["spent"] = post(dip(small), dip(small))[-1]
    post(farm.entry("fault_found", item=clippers[1], detail={"fault": "dirty"}))
    (found["dirt_first"],) = post(dip(good) | {"item": clippers[1]})
    return found | provoke_lots(farm, post)


def provoke_lots(farm: Farm, post: Post) -> dict[str, dict[str, Any]]:
    """What stands against giving and using counted goods."""
    lot, old = str(new_id()), str(new_id())
    came = {"goods": "plasters", "quantity": 5}
    asked = {
        "received": farm.entry("received", lot=lot, detail=came),
        "lot_expired": farm.entry("used", lot=old, detail={"quantity": 1}),
        "received_twice": farm.entry("received", lot=lot, detail=came),
        "more_than_left": farm.entry("used", lot=lot, detail={"quantity": 6}),
        "unknown_lot": farm.entry("counted", lot=str(new_id()), detail={"left": 6}),
    }
    post(farm.entry("received", lot=old, detail={**came, "expires_on": "2020-01-31"}))
    found = {code: post(entry)[0] for code, entry in asked.items()}
    assert found.pop("received")["state"]["left"] == 5
    return found


# What is said of something that is recorded all the same.
ONLY_SAID = {
    "wrong_size", "too_short", "dirt_first", "no_recipe", "wrong_recipe", "not_mixed", "emptied", "too_weak",
    "product_expired", "wrong_ph", "too_old", "spent", "test_failed",
}  # fmt: skip


def test_every_code_there_is_comes_about_and_has_words(farm: Farm, post: Post, described: Any) -> None:
    found = provoke(farm, post)
    for code, answer in found.items():
        assert code in answer["codes"], (code, answer)
        assert answer["outcome"] == ("recorded" if code in ONLY_SAID else "refused"), code
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
    assert set(REFUSALS) == OF_THE_CONTRACT | set(CONTRADICTIONS) | ONLY_SAID


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


def test_every_address_says_that_it_may_refuse(described: Any) -> None:
    for path, methods in described["paths"].items():
        for method, operation in methods.items():
            assert {"401", "403"} <= operation["responses"].keys(), (method, path)
    assert {"400", "404"} <= described["paths"]["/api/items/"]["get"]["responses"].keys()
