"""Whatever counters, phones and the office do, in whatever order it arrives, the book holds: a state machine over HTTP.

Hypothesis draws who does what next; a real server answers; after each step, and at the end when every phone has come
home and everything has been sent once more, `tests.holding` and the witness of `tests.clients` say whether the book is
what it promises to be.
"""

import json
import sys
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from random import Random
from threading import Barrier
from typing import Any

import pytest
from django.db import connection
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from equipment.actions import raw as reading
from equipment.models import Entry, KeptEntry
from tests import emptying, holding
from tests.bad_line import SKEWS
from tests.busy_shed import HAPPENINGS, WHAT, BusyShed, Happening
from tests.clients import Answers, Client

pytestmark = pytest.mark.django_db(transaction=True)
FEW = st.integers(0, 2)
MANY = st.integers(0, 199)
FATES = st.sampled_from(("delivered", "shuffled", "doubled", "unanswered", "lost"))
GIVEN = WHAT[0]


class Day(RuleBasedStateMachine):
    """A day at the shed; `address` and the counts are the run's."""

    address = ""
    seen: Counter[str] = Counter()

    def __init__(self) -> None:
        super().__init__()
        self.shed = BusyShed(self.address)

    @rule(counter=FEW, happenings=st.lists(HAPPENINGS, min_size=1, max_size=3), one_act=st.booleans())
    def scan_at_a_counter(self, counter: int, happenings: list[Happening], one_act: bool) -> None:
        self.seen["scans"] += 1
        client = self.shed.counters[counter]
        entries = [self.shed.told(client, each) for each in happenings]
        if one_act and len(entries) > 1:
            entries = [entry | {"act": entries[0]["id"]} for entry in entries]
        answers = client.send(entries)
        if one_act:
            assert len({answer["outcome"] for answer in answers}) == 1, "half an act was recorded"

    @rule(counter=FEW, happenings=st.lists(HAPPENINGS, min_size=1, max_size=3))
    def a_counter_was_cut_off(self, counter: int, happenings: list[Happening]) -> None:
        client = self.shed.counters[counter]
        client.send([self.shed.told(client, each, queued=True) for each in happenings], "note")

    @rule(which=MANY, with_phones=st.booleans())
    def hand_one_piece_out_at_both_counters_at_once(self, which: int, with_phones: bool) -> None:
        self.seen["races"] += 1
        clients = self.shed.counters[:2]
        batches = [
            [self.shed.told(client, Happening(GIVEN, which % 7, who=place))]
            for place, client in enumerate(clients)
        ]
        if with_phones:
            clients = [*clients, *self.shed.phones]
            batches += [list(phone.waiting) for phone in self.shed.phones]
        answered = at_once(clients, batches)
        given = sum(answers[0]["outcome"] == "recorded" for answers in answered[:2])
        assert with_phones or given <= 1, "both counters gave it away"

    @rule(phone=FEW, happenings=st.lists(HAPPENINGS, min_size=1, max_size=4))
    def write_on_a_phone(self, phone: int, happenings: list[Happening]) -> None:
        client = self.shed.phones[phone]
        client.waiting += [self.shed.told(client, each) for each in happenings]

    @rule(phone=FEW, off=st.sampled_from(SKEWS))
    def set_the_clock_of_a_phone(self, phone: int, off: timedelta) -> None:
        self.shed.phones[phone].off = off

    @rule(phone=FEW, some=st.integers(1, 20), fate=FATES, seed=MANY)
    def come_within_reach(self, phone: int, some: int, fate: str, seed: int) -> None:
        client = self.shed.phones[phone]
        entries = client.waiting[:some]
        if fate == "shuffled":
            entries = Random(seed).sample(entries, len(entries))
        if fate == "lost" or not entries:
            return
        answers = client.send(entries)
        if fate == "doubled":
            assert codes(client.send(entries)) == codes(answers), "sent again, it is answered otherwise"
        if fate != "unanswered":
            client.waiting = [entry for entry in client.waiting if entry not in entries]

    @rule(batch=MANY, seed=MANY)
    def send_an_old_batch_again(self, batch: int, seed: int) -> None:
        """A part of it, in another order perhaps."""
        sent = [(client, each) for client in self.shed.clients for each in client.batches]
        if sent:
            client, (gate, entries) = sent[batch % len(sent)]
            client.send(Random(seed).sample(entries, 1 + seed % len(entries)), gate)
            self.seen["old batches"] += 1

    @rule(phone=FEW, which=MANY, happening=HAPPENINGS)
    def use_a_number_again(self, phone: int, which: int, happening: Happening) -> None:
        """One's own, or another's."""
        client = self.shed.phones[phone]
        sent = [each["id"] for other in self.shed.phones for _, batch in other.batches for each in batch]
        if sent:
            client.send([self.shed.told(client, happening) | {"id": sent[which % len(sent)]}])
            self.seen["numbers used again"] += 1

    @rule(by=st.integers(0, 3), which=MANY, late=st.booleans())
    def take_a_line_back(self, by: int, which: int, late: bool) -> None:
        client = (*self.shed.office, *self.shed.phones[:2])[by]
        entry = self.shed.taking_back(client, which)
        if entry and late and client in self.shed.phones:
            client.waiting.append(entry)
        elif entry:
            client.send([entry])

    @rule(by=FEW, which=MANY)
    def settle_something(self, by: int, which: int) -> None:
        client = (*self.shed.office, self.shed.counters[0])[by]
        if entry := self.shed.settling(client, which):
            self.seen["settled"] += client.send([entry])[0]["outcome"] == "recorded"

    @rule(by=st.integers(0, 1), happening=HAPPENINGS)
    def write_in_the_office(self, by: int, happening: Happening) -> None:
        client = self.shed.office[by]
        client.send([self.shed.told(client, happening)])

    @rule(which=FEW)
    def register_a_tag_that_phones_knew_before(self, which: int) -> None:
        self.shed.counters[0].send([self.shed.registering(self.shed.counters[0], which)])

    @invariant()
    def nothing_is_in_the_book_that_nobody_was_told_of(self) -> None:
        """Nor is a kept note put aside, unless it is in the book, or whoever wrote it has put it right."""
        placed = KeptEntry.objects.exclude(placed_at=None)
        lines = {row.pk: row for row in Entry.objects.exclude(pk__in=self.shed.founded)}
        told = {str(row.entry_id) for row in placed}
        assert {str(own) for own in lines} == self.shed.witness.accepted.keys() | told
        for row in placed:
            line, digest = lines[row.entry_id], reading.content_digest(json.loads(row.raw))
            own = (row.by_id, row.device_id) == (line.by_id, line.device_id)
            assert own or line.sent_digest == digest, f"{row.raw} got lost: {line.detail}"

    @invariant()
    def every_piece_is_in_one_place(self) -> None:
        holding.assert_one_place_each()

    def teardown(self) -> None:
        """Everybody comes home; or only cleans up, where a step has failed."""
        try:
            if sys.exc_info()[0] is None:
                self.come_home()
        finally:
            self.shed.close()
            emptying.empty(connection)

    def come_home(self) -> None:
        shed = self.shed
        for phone in shed.phones:
            if phone.waiting:
                phone.send(phone.waiting)
        for client in shed.clients:
            client.send_all_again()
        self.nothing_is_in_the_book_that_nobody_was_told_of()
        holding.assert_written(shed.witness.accepted.values())
        holding.assert_one_place_each()
        holding.assert_folded()
        holding.assert_verified()
        assert_listed_once(shed)
        type(self).seen += shed.witness.seen
        self.seen["days"] += 1


def codes(answers: Answers) -> list[tuple[str, str, str]]:
    """What must be the same when it is sent again: what was recorded is known."""
    outcomes = {"recorded": "known"}
    return [(a["id"], outcomes.get(a["outcome"], a["outcome"]), a.get("code", "")) for a in answers]


def at_once(clients: list[Client], batches: list[Any]) -> list[Answers]:
    """Each client sends its batch at the same moment; the witness hears them in the order of the chain."""
    asking = [(client, batch) for client, batch in zip(clients, batches, strict=True) if batch]
    barrier = Barrier(len(asking))

    def ask(pair: tuple[Client, Any]) -> Any:
        barrier.wait()
        return pair[0].ask(pair[1])

    with ThreadPoolExecutor(len(asking)) as threads:
        said = list(threads.map(ask, asking))
    for place in sorted(range(len(asking)), key=lambda place: _end(asking[place][0], *said[place])):
        client, batch = asking[place]
        client.heard(batch, *said[place])
    return [answers for answers, _ in said]


def _end(client: Client, answers: Answers, heads: Any) -> tuple[int, bool]:
    """Where a chain ended; who made it that long comes before who only saw it."""
    only_saw = all(answer["outcome"] != "recorded" for answer in answers)
    return heads.get(client.store, {"position": 0})["position"], only_saw


def assert_listed_once(shed: BusyShed) -> None:
    """The list has each piece once, and each at one place."""
    olga = shed.office[0]
    everywhere = [item["tag"] for item in olga.call("GET", "/api/items/")["results"]]
    places = ("store", "picker", "crew", "orchard", "bench", "missing", "gone")
    by_place = [
        item["tag"] for place in places for item in olga.call("GET", f"/api/items/?place={place}")["results"]
    ]
    assert sorted(by_place) == sorted(everywhere)
    assert len(set(everywhere)) == len(everywhere) >= len(shed.known)


def test_whatever_they_do_the_book_holds(live_server, times, figure) -> None:
    days, steps = times(6, 150), times(25, 40)
    Day.address, Day.seen = live_server.url, Counter()
    run_state_machine_as_test(
        Day,
        settings=settings(
            max_examples=days,
            stateful_step_count=steps,
            # To shrink a day takes minutes; which draws made it, Hypothesis prints.
            phases=[Phase.reuse, Phase.generate],
            report_multiple_bugs=False,
            suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
        ),
    )
    seen = Day.seen
    assert seen["recorded"] > days and seen["known"] >= seen["recorded"], f"hardly anything happened: {seen}"
    figure(
        f"{seen['days']} days of {steps} steps; {seen['recorded']} lines recorded, {seen['known']} answers to lines"
        f" sent again, {seen['races']} hand-outs at two counters at once, {seen['settled']} settled,"
        f" {seen['id_reused']} numbers used twice; the book held each time"
    )
