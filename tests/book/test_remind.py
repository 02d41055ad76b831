"""`remind`: who is mailed what, once; what could not be sent is sent next time."""

from datetime import timedelta
from typing import Any

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.utils import timezone

from crews.models import User
from equipment.actions.remind import remind
from equipment.models import Entry, ItemState
from equipment.models.reminders import Reminder, overdue
from tests.cast import Farm
from tests.commands import manage
from tests.mornings import ago, clippers, dipped, handed, hours_up, item_of


@pytest.fixture
def farm(ruled_farm: Farm) -> Farm:
    """Olga, and Sam who wants it, have an address."""
    User.objects.filter(username="olga").update(email="olga@farm.example")
    User.objects.filter(username="sam").update(email="sam@farm.example", mailed=True)
    return ruled_farm


def mailed() -> dict[str, str]:
    """Address -> text of the mails since the last look."""
    found = {message.to[0]: f"{message.subject}\n{message.body}" for message in mail.outbox}
    assert all(len(message.to) == 1 for message in mail.outbox)
    mail.outbox.clear()
    return found


def let_out(farm: Farm, tag: str, colour: str = "red", who: str = "ana") -> None:
    """Handed out, not sterile, by Olga who takes it upon herself."""
    pen = farm.pen("olga")
    fields = {"crew": farm.crews[colour].pk, "picker": farm.pickers[who].pk, "note": "Ana asked so nicely"}
    draft = pen.draft("handed_out", item=item_of(tag), detail={"overridden": ["cleaning_due"]}, **fields)
    assert pen.record([draft]).outcomes[0].recorded


def test_the_officer_gets_one_digest_and_then_nothing_new(farm: Farm) -> None:
    tags = hours_up(farm, 3)
    out, err, code = manage("remind")
    assert (err, code) == ("", 0) and "olga: 3 things mailed." in out
    text = mailed()["olga@farm.example"]
    assert "Shedbook: 3 overdue" in text and "TO BE CLEANED, AND OUT" in text
    assert "Red crew. Clippers, to sterilise, its hours in use are up, since" in " ".join(text.split())
    assert all(tag in text for tag in tags)
    assert "olga: nothing new." in manage("remind")[0]
    assert mailed() == {}


def test_nobodys_name_is_in_it_who_picks(farm: Farm) -> None:
    (tag,) = clippers(farm, 1)
    let_out(farm, tag)
    hours_up(farm, 2)
    remind(timezone.now())
    for text in mailed().values():
        assert "Ana" not in text and farm.badges["ana"] not in text


def test_what_falls_due_anew_is_told_anew(farm: Farm) -> None:
    (tag,) = hours_up(farm, 1)
    remind(timezone.now())
    mailed()
    dipped(farm, [tag], ago(minutes=1))
    assert [each.new for each in remind(timezone.now())] == [0, 0]
    later = timezone.now() + timedelta(hours=5)
    assert [each.new for each in remind(later)] == [1, 1]
    assert tag in mailed()["olga@farm.example"]


def test_a_supervisor_is_told_of_their_own_crews_where_they_want_it(farm: Farm) -> None:
    (mine,) = hours_up(farm, 1)
    (theirs,) = clippers(farm, 1)
    handed(farm, [theirs], ago(hours=1), "cy", "blue")
    remind(timezone.now())
    texts = mailed()
    assert mine in texts["sam@farm.example"] and theirs not in texts["sam@farm.example"]
    assert mine in texts["olga@farm.example"] and theirs in texts["olga@farm.example"]
    User.objects.filter(username="sam").update(mailed=False)
    Reminder.objects.all().delete()
    remind(timezone.now())
    assert set(mailed()) == {"olga@farm.example"}


def test_what_went_out_against_the_gate_is_told_once(farm: Farm) -> None:
    tag, other = clippers(farm, 2)
    let_out(farm, tag)
    let_out(farm, other, "blue", "cy")
    remind(timezone.now())
    texts = {who: " ".join(text.split()) for who, text in mailed().items()}
    assert (
        f"{tag} (Clippers) to Red crew, by olga, although it must be cleaned first."
        in texts["olga@farm.example"]
    )
    assert (
        "2 overridden" in texts["olga@farm.example"] and "asked so nicely" not in texts["olga@farm.example"]
    )
    assert "1 overridden" in texts["sam@farm.example"]
    remind(timezone.now())
    assert mailed() == {}


def test_an_override_of_long_ago_is_not_told_to_who_never_was_mailed(farm: Farm) -> None:
    (tag,) = clippers(farm, 1)
    let_out(farm, tag)
    found = remind(timezone.now() + timedelta(days=8))
    assert "overridden" not in mailed().get("olga@farm.example", "")
    assert found[0].user == farm.users["olga"]


def test_mends_and_inspections_are_told_that_hold_a_piece_back(farm: Farm) -> None:
    (goggles,), (ladder,) = farm.gear("goggles", days_ago=40), farm.gear("ladder", days_ago=40)
    pen = farm.pen()
    found = {"item": item_of(goggles), "detail": {"fault": "goggles_scratched"}, "happened_at": ago(days=39)}
    assert pen.record([pen.draft("fault_found", **found)]).outcomes[0].recorded
    late = {(each.tag, each.key.what, each.key.name) for each in overdue(timezone.now())}
    assert (goggles, "mend", "goggles_scratched") in late
    assert (ladder, "inspect", "ladder_monthly") in late
    # These only warn, so whoever hands it out says so.
    assert not {(ladder, "inspect", "ladder_daily"), (goggles, "inspect", "goggles_weekly")} & late
    remind(timezone.now())
    text = " ".join(mailed()["olga@farm.example"].split())
    assert "MENDS OVERDUE" in text and "INSPECTIONS OVERDUE" in text
    assert "Store A. Ladders, Ladder, recorded inspection, since" in text


def test_what_lies_in_the_store_unsterile_is_no_news(farm: Farm) -> None:
    clippers(farm, 2)
    assert ItemState.objects.filter(due_at__lt=timezone.now()).count() == 2
    assert overdue(timezone.now()) == []


class Down(EmailBackend):
    """A mail server that takes nothing for Olga."""

    def send_messages(self, messages: Any) -> int:
        if messages[0].to == ["olga@farm.example"]:
            raise ConnectionRefusedError("no such luck")
        return super().send_messages(messages)


def test_a_mail_that_fails_is_tried_again_and_loses_nothing(farm: Farm, settings: Any) -> None:
    (tag,) = clippers(farm, 1)
    let_out(farm, tag)
    hours_up(farm, 2)
    works, settings.EMAIL_BACKEND = settings.EMAIL_BACKEND, f"{__name__}.Down"
    out, err, code = manage("remind")
    assert code == 1 and "olga could not be mailed (ConnectionRefusedError: no such luck)" in err
    assert "olga: 4 things wait." in out and "sam: 4 things mailed." in out
    assert set(mailed()) == {"sam@farm.example"}
    settings.EMAIL_BACKEND = works
    assert "olga: 4 things mailed." in manage("remind")[0]
    assert "1 overridden" in mailed()["olga@farm.example"]


def test_who_has_no_address_is_named(farm: Farm) -> None:
    User.objects.filter(username="olga").update(email="")
    hours_up(farm, 1)
    _, err, code = manage("remind")
    assert code == 1 and "olga could not be mailed (there is no mail address" in err
    assert not Reminder.objects.filter(user=farm.users["olga"]).exists()


def test_a_dry_run_shows_and_does_nothing(farm: Farm) -> None:
    (tag,) = hours_up(farm, 1)
    out, _, code = manage("remind", "--dry-run")
    assert code == 0 and tag in out and "olga: 1 thing to mail." in out
    assert mailed() == {} and not Reminder.objects.exists()


def test_without_an_officer_it_says_so(farm: Farm) -> None:
    User.objects.filter(username__in=("olga", "sam")).update(is_active=False)
    assert "there is no safety officer" in manage("remind")[0]


def test_its_cost_does_not_grow(farm: Farm, django_assert_max_num_queries: Any) -> None:
    hours_up(farm, 40)
    tags = clippers(farm, 10)
    for tag in tags:
        let_out(farm, tag)
    assert Entry.objects.filter(detail__has_key="overridden").count() == 10
    with django_assert_max_num_queries(16):
        assert [each.new for each in remind(timezone.now())] == [60, 60]
