"""The tags that lie on a counter: scanned, they say what to do with the scans around them; keys do the same.

The browser keeps F11 to itself where it fills the screen, so no tag has that key.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from equipment.domain import codes
from equipment.domain.words import gettext_noop


@dataclass(frozen=True)
class CounterTag:
    """`words` are for gettext; `key` is the name of the key as the browser's KeyboardEvent gives it."""

    number: int
    name: str
    words: str
    key: str

    @property
    def code(self) -> str:
        return codes.make(codes.COUNTER, self.number)


_TAGS = (
    CounterTag(1, "hand_out", gettext_noop("Hand out"), "F2"),
    CounterTag(2, "take_back", gettext_noop("Take back"), "F3"),
    CounterTag(3, "undo", gettext_noop("Undo the last scan"), "F4"),
    CounterTag(4, "change_of_hands", gettext_noop("Change of hands"), "F5"),
    CounterTag(5, "waive", gettext_noop("Waive this kit line"), "F6"),
    CounterTag(6, "came_back_wet", gettext_noop("This crew came back wet"), "F7"),
    CounterTag(7, "day_card", gettext_noop("Lend a day card"), "F8"),
    CounterTag(8, "finish", gettext_noop("Finish this picker"), "F9"),
    CounterTag(9, "set_aside", gettext_noop("Set this piece aside"), "F10"),
    CounterTag(10, "all_good", gettext_noop("Looked over: all good"), "F1"),
    CounterTag(11, "let_go", gettext_noop("Let it go all the same"), "F12"),
)

COUNTER_TAGS: Mapping[int, CounterTag] = MappingProxyType({tag.number: tag for tag in _TAGS})
