"""The reading endpoints: what they carry, to whom, and at what cost."""

from typing import Any

import pytest

from equipment.domain import codes
from tests.cast import Farm
from tests.farm import Post


@pytest.mark.parametrize("path", ["items", "pickers", "crews", "blocks", "stores", "board", "schema", "docs"])
def test_each_answers_every_role(path: str, farm: Farm, client_of) -> None:  # type: ignore[no-untyped-def]
    for name in farm.users:
        assert client_of(name).get(f"/api/{path}/").status_code == 200


def test_an_item_carries_the_words_of_the_contract(farm: Farm, client_of, post: Post) -> None:  # type: ignore[no-untyped-def]
    (tag,) = farm.gear("clippers", make="Anvil")
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    (item,) = client_of("rosa").get("/api/items/").json()["results"]
    assert {"tag", "kind", "store", "place", "picker", "crew", "since", "fit", "reasons", "due_at"} <= set(
        item
    )
    assert (item["tag"], item["picker"], item["crew"]) == (tag, farm.badges["ana"], farm.crews["red"].pk)
    whole = client_of("rosa").get(f"/api/items/{tag.lower()}/").json()
    assert [line["verb"] for line in whole["history"]] == ["registered", "handed_out"]


def test_a_kit_says_what_is_still_to_give(farm: Farm, client_of, post: Post) -> None:  # type: ignore[no-untyped-def]
    farm.plan("red", "N4")
    (bag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    kit = client_of("rosa").get(f"/api/pickers/{farm.badges['ana']}/kit/").json()
    required = {line["kind"] for line in kit["missing"] if line["need"] == "required"}
    assert (required, kit["complete"]) == ({"clippers", "gloves"}, False)


def test_the_board_counts_by_crew(farm: Farm, client_of, post: Post) -> None:  # type: ignore[no-untyped-def]
    (bag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    board = client_of("rosa").get("/api/board/").json()
    red = next(line for line in board["crews"] if line["crew"] == farm.crews["red"].pk)
    assert (red["pickers"], red["served"], red["complete"], red["out"]) == (2, 1, 0, 1)


def test_a_supervisor_sees_only_their_own_crews(farm: Farm, client_of) -> None:  # type: ignore[no-untyped-def]
    crews = client_of("sam").get("/api/crews/").json()["results"]
    assert [crew["code"] for crew in crews] == [farm.crews["red"].pk]
    names = {p["name"] for p in client_of("sam").get("/api/pickers/").json()["results"]}
    assert names == {"Ana", "Ben"}


def test_what_was_registered_by_mistake_is_in_no_list(farm: Farm, client_of: Any, post: Post) -> None:
    (right,) = farm.gear("bag")
    wrong = farm.entry("registered", item=codes.make("BG", 901), detail={"kind": "bag", "store": "A"})
    post(wrong)
    post(farm.entry("reversed", item=wrong["item"], detail={"entry": wrong["id"]}))
    assert [item["tag"] for item in client_of("rosa").get("/api/items/").json()["results"]] == [right]
