"""The quick way to a changed value against the standard library's own."""

import dataclasses
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equipment.domain import values
from equipment.domain.replacing import replace

AT = datetime(2026, 5, 4, 5, 30, tzinfo=UTC)
VALUES: list[Any] = [
    values.ItemState(place="picker", picker=7, tag="CL0001X", stints=(values.Stint(7, "CW1", AT),)),
    values.CrewState(members={7: AT}, led_by=3),
    values.BathState(recipe="clippers", litres=20.0),
    values.LotState(goods="plasters", left=3.5),
    values.Stint(7, "CW1", AT),
    values.Discrepancy("already_out", values.UUID(int=5)),
]


@pytest.mark.parametrize("value", VALUES, ids=lambda value: type(value).__name__)
@given(data=st.data())
def test_it_gives_what_the_standard_library_gives(value: Any, data: st.DataObject) -> None:
    names = [each.name for each in dataclasses.fields(value)]
    changes = {name: object() for name in data.draw(st.sets(st.sampled_from(names)))}
    before = dataclasses.astuple(value)
    made = replace(value, **changes)
    assert made == dataclasses.replace(value, **changes) and type(made) is type(value)
    assert all(getattr(made, name) is new for name, new in changes.items())
    assert dataclasses.astuple(value) == before


def test_what_it_makes_is_frozen_too() -> None:
    made: Any = replace(VALUES[0], tag="CL0002Y")
    with pytest.raises(dataclasses.FrozenInstanceError):
        made.tag = "CL0003Z"


def test_a_field_that_there_is_not_is_refused() -> None:
    with pytest.raises(TypeError, match="no field colour"):
        replace(VALUES[0], colour="red")


@dataclasses.dataclass(frozen=True, slots=True)
class Checked:
    low: int
    high: int

    def __post_init__(self) -> None:
        assert self.low < self.high


def test_a_value_that_looks_at_itself_is_none_for_it() -> None:
    with pytest.raises(TypeError, match="not a plain value"):
        replace(Checked(1, 2), low=3)
