"""A browser that is killed, as a phone whose battery is taken out: what the screen said is done is on disk."""

from collections.abc import Callable
from typing import Any

import pytest

from equipment.models import Entry
from tests.cast import Farm
from tests.outboxes import DEVICE, Phone, dead
from tests.restarting import Start, kill

pytestmark = pytest.mark.django_db(transaction=True)


def test_what_was_said_to_be_done_outlives_a_killed_browser(
    farm: Farm, start: Start, sign_in: Any, expect_problem: Callable[[str], None]
) -> None:
    expect_problem("ERR_CONNECTION_REFUSED")
    said: list[str] = []
    for _turn in range(3):
        context = start()
        page = context.pages[0]
        sign_in(page, farm.users["sam"])
        phone = Phone(farm, page)
        phone.answers(dead)
        phone.open()
        said += phone.arrived(5)
        kill(context)
    context = start()
    sign_in(context.pages[0], farm.users["sam"])
    phone = Phone(farm, context.pages[0]).open()
    phone.until(unsent=0, line="on")
    stored = Entry.objects.filter(device=DEVICE).order_by("position").values_list("pk", flat=True)
    assert [str(pk) for pk in stored] == said
