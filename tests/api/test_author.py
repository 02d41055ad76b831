"""A request may say for whom it speaks: what one person's phone kept is never written as another's."""

from collections.abc import Callable

import pytest
from rest_framework.test import APIClient

from equipment.models import Attempt, Entry, KeptEntry, Photo
from tests import pictures
from tests.cast import Farm

ClientOf = Callable[[str], APIClient]


@pytest.mark.parametrize("spoken_for", ["sam", "nobody", ""])
def test_what_is_anothers_is_not_taken_and_nothing_of_it_stays(
    spoken_for: str, farm: Farm, client_of: ClientOf
) -> None:
    author = str(farm.users[spoken_for].pk) if spoken_for in farm.users else spoken_for
    entry = farm.entry("arrived", crew=farm.crews["red"].pk, block="N4")
    rosa = client_of("rosa")
    answer = rosa.post(
        "/api/entries/", farm.batch([entry], "note"), format="json", headers={"X-Author": author}
    )
    assert (answer.status_code, answer.json()["code"]) == (403, "no_right")
    data = pictures.file(pictures.plain())
    headers = {"X-Author": author}
    answer = rosa.put(pictures.url(data), data, content_type="image/jpeg", headers=headers)
    assert answer.status_code == 403
    assert not Entry.objects.filter(pk=entry["id"]).exists()
    assert (Attempt.objects.count(), KeptEntry.objects.count(), Photo.objects.count()) == (0, 0, 0)


def test_ones_own_is_and_so_is_what_says_nothing(farm: Farm, client_of: ClientOf) -> None:
    rosa = client_of("rosa")
    for headers in ({"X-Author": str(farm.users["rosa"].pk)}, {}):
        entry = farm.entry("arrived", crew=farm.crews["red"].pk, block="N4")
        answer = rosa.post("/api/entries/", farm.batch([entry], "note"), format="json", headers=headers)
        assert answer.json()["answers"][0]["outcome"] == "recorded"
