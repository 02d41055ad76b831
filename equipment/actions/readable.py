"""An entry that can be read, and how one is refused that cannot be taken."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from equipment.actions.raw import RawEntry
from equipment.actions.references import normal
from equipment.domain import codes
from equipment.domain.verbs import Verb


class Refused(Exception):
    """`codes` say why, `params` fill the words that go with them."""

    def __init__(self, *codes: str, **params: Any) -> None:
        self.codes, self.params = codes, params
        super().__init__(", ".join(codes))


@dataclass(frozen=True, slots=True)
class Readable:
    """An entry that can be read, with its time corrected and its content sealed."""

    raw: RawEntry
    verb: Verb
    detail: Mapping[str, Any]
    sent_digest: str
    happened_at: datetime

    @property
    def words(self) -> dict[str, Any]:
        """What a message can say of the entry, as it was sent."""
        shown = {"tag": self.raw.item, "crew": self.raw.crew, "who": self.raw.picker or self.raw.crew}
        shown["bath"] = str(self.raw.bath) if self.raw.bath else None
        shown["lot"] = str(self.raw.lot) if self.raw.lot else None
        if self.verb.name == "retagged":
            shown["tag"] = self.detail["tag"]
        return {name: _shown(text) for name, text in shown.items()}


def code_of(text: str | None) -> str:
    """The code as the book writes it. Raises Refused with wrong_check."""
    try:
        return normal(text or "")
    except codes.WrongCheck as wrong:
        raise Refused("wrong_check", tag=wrong.params["text"]) from None


def _shown(text: str | None) -> str:
    try:
        return normal(text or "")[:40]
    except codes.WrongCheck as wrong:
        return str(wrong.params["text"])
