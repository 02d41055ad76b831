"""Clients of the real server, over HTTP: counters, phones that are out of reach for hours, the office.

Whatever they are answered goes to one witness, who knows what nobody may be answered: that a line is recorded twice,
that one which was acknowledged is refused, that a chain ends earlier than it did.
"""

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from http.client import HTTPConnection
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

from django.utils import timezone
from rest_framework.authtoken.models import Token

from crews.models import Device, User

Raw = Mapping[str, Any]
Answers = list[dict[str, Any]]


def content(raw: Raw) -> dict[str, Any]:
    """What of a line must be the same when it is sent again."""
    return {name: value for name, value in raw.items() if name != "queued"}


@dataclass
class Witness:
    """`accepted` are the lines that were acknowledged, by id; `heads` the last that was heard of each chain; `seen`
    counts outcomes and codes."""

    accepted: dict[str, dict[str, Any]] = field(default_factory=dict)
    heads: dict[str, tuple[int, str]] = field(default_factory=dict)
    seen: Counter[str] = field(default_factory=Counter)

    def hear(self, sent: Sequence[Raw], answers: Answers) -> None:
        assert [answer["id"] for answer in answers] == [raw["id"] for raw in sent]
        for raw, answer in zip(sent, answers, strict=True):
            self.seen[answer.get("code", answer["outcome"])] += 1
            self._one(content(raw), answer)

    def _one(self, raw: dict[str, Any], answer: Mapping[str, Any]) -> None:
        before, outcome = self.accepted.get(raw["id"]), answer["outcome"]
        if outcome == "recorded":
            assert before is None, f"recorded twice: {raw}"
        if outcome == "refused":
            assert answer["say"] and before != raw, f"acknowledged, and then {answer['code']}: {raw}"
            assert before is None or answer["code"] in ("id_reused", "malformed"), (answer, before)
        else:
            assert before in (None, raw), f"two lines of one id: {before} and {raw}"
            self.accepted[raw["id"]] = raw

    def hear_heads(self, heads: Mapping[str, Any], recorded: Mapping[str, int]) -> None:
        for store, head in heads.items():
            now, before = (head["position"], head["digest"]), self.heads.get(store, (0, ""))
            assert now[0] >= before[0] + recorded.get(store, 0), f"{store} went from {before} to {now}"
            assert now == before or now[0] > before[0], f"{store} has two ends at {now[0]}"
            self.heads[store] = now


@dataclass
class Client:
    """One person on one device, whose clock is `off`. `batches` is all that it sent, by which gate."""

    address: str
    user: User
    device: Device
    gate: str
    witness: Witness
    off: timedelta = timedelta(0)
    sequence: int = 0
    waiting: list[dict[str, Any]] = field(default_factory=list)
    batches: list[tuple[str, list[dict[str, Any]]]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.line = HTTPConnection(urlsplit(self.address).netloc, timeout=60)
        self.token = Token.objects.get_or_create(user=self.user)[0].key

    @property
    def store(self) -> str:
        return str(self.device.store_id)

    def entry(self, own: UUID, verb: str, ago: int = 0, **fields: Any) -> dict[str, Any]:
        """What it writes down: `ago` minutes ago, by its own clock."""
        self.sequence += 1
        at = timezone.now() + self.off - timedelta(minutes=ago)
        base = {"id": str(own), "verb": verb, "happened_at": at.isoformat(), "device_seq": self.sequence}
        return base | {"detail": {}} | fields

    def send(self, entries: Sequence[dict[str, Any]], gate: str = "") -> Answers:
        answers, heads = self.ask(entries, gate)
        self.heard(entries, answers, heads, gate)
        return answers

    def send_all_again(self) -> None:
        for gate in ("hold", "note"):
            if entries := [entry for by, batch in self.batches if by == gate for entry in batch]:
                self.send(entries, gate)

    def heard(
        self, entries: Sequence[dict[str, Any]], answers: Answers, heads: Mapping[str, Any], gate: str = ""
    ) -> None:
        self.batches.append((gate or self.gate, list(entries)))
        self.witness.hear(entries, answers)
        recorded = sum(answer["outcome"] == "recorded" for answer in answers)
        self.witness.hear_heads(heads, {self.store: recorded})

    def ask(self, entries: Sequence[Raw], gate: str = "") -> tuple[Answers, Mapping[str, Any]]:
        """The answers and heads, as the server says them; the witness is not told."""
        body = {
            "device": str(self.device.pk),
            "store": self.store,
            "sent_at": (timezone.now() + self.off).isoformat(),
            "gate": gate or self.gate,
            "entries": list(entries),
        }
        said = self.call("POST", "/api/entries/", json.dumps(body))
        return said["answers"], said["heads"]

    def call(self, method: str, path: str, body: str | None = None) -> Any:
        head = {"Authorization": f"Token {self.token}", "Content-Type": "application/json"}
        head |= {"X-Author": str(self.user.pk), "X-Unsent": str(len(self.waiting))}
        self.line.request(method, path, body, head)
        answer = self.line.getresponse()
        text = answer.read()
        assert answer.status == 200, (answer.status, text[:2000])
        return json.loads(text)

    def close(self) -> None:
        self.line.close()
