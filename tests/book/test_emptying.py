"""Between tests the database is emptied although its triggers refuse it, and they stand again for the next test."""

import pytest
from django.contrib.auth.models import Group
from django.db import DatabaseError, connection

from crews import policy
from equipment.models import Entry, triggers

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("turn", range(3))
def test_each_test_starts_empty_and_with_the_triggers(farm, turn):
    assert not triggers.absent(connection)
    assert set(Group.objects.values_list("name", flat=True)) == set(policy.ROLES)
    before = Entry.objects.count()  # what the farm's founding wrote, and nothing of another turn
    farm.gear("bag", 2)
    assert (before, Entry.objects.count()) == (3, 5)
    Group.objects.filter(name="mender").delete()
    with pytest.raises(DatabaseError, match="append-only"):
        Entry.objects.all().delete()


@pytest.mark.parametrize("turn", range(2))
def test_a_test_that_drops_them_does_no_harm_to_the_next(turn):
    assert not triggers.absent(connection)
    triggers.drop(connection)
    assert triggers.absent(connection)
