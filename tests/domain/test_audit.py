"""The question, the draw and the finding of an audit, against counting every lot that can be."""

from decimal import Decimal
from fractions import Fraction
from hashlib import sha256
from itertools import combinations
from math import comb
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equipment import catalogue
from equipment.domain import audit
from equipment.domain.audit import Answers, Question, draw, finding, not_whole, reaching

TAGS = [f"BG{n:04d}X" for n in range(100)]
NINETY_FIVE = Decimal(95)


def said(question: Question, answers: Answers) -> list[str]:
    return [each.words % each.params for each in finding(question, answers).said]


def test_the_finding_in_words() -> None:
    question = Question(100, 5, NINETY_FIVE)
    assert question.sample == 45  # FAO/IPPC ISPM 31, 2008 (from memory)
    assert said(question, Answers(45, 0)) == [
        "None faulty in 45 of 100: 95 % sure that fewer than 5 of the 100 are."
    ]
    (sentence,) = said(question, Answers(45, 1))
    assert sentence == "1 faulty in 45 of 100: 95 % sure that at most 8 of the 100 are."
    assert said(Question(100, 1, NINETY_FIVE), Answers(99, 0)) == [
        "None faulty in 99 of 100: 95 % sure that none of the 100 is."
    ]


def test_what_is_not_there_counts_as_faulty_and_is_said() -> None:
    first, second = said(Question(100, 5, NINETY_FIVE), Answers(45, 1, absent=2))
    assert first.startswith("3 faulty in 45 of 100")
    assert second == "Not there, and counted as faulty: 2."


def test_where_every_piece_is_looked_at_nothing_is_guessed() -> None:
    question = Question(20, 1, NINETY_FIVE, every=True)
    assert question.sample == 20
    assert said(question, Answers(20, 0)) == ["None faulty: all 20 were looked at."]
    assert said(question, Answers(20, 3)) == ["3 faulty of 20: all were looked at."]
    assert finding(question, Answers(20, 3)).most == 3


@pytest.mark.parametrize(
    ("found", "verdict", "words"),
    [
        (0, "within", "Acceptable: 5 or more faulty would not be."),
        (1, "open", "Not shown to be acceptable: 5 or more faulty cannot be ruled out."),
        (4, "open", "cannot be ruled out"),
        (5, "beyond", "Not acceptable: 5 or more are faulty."),
    ],
)
def test_whether_it_is_acceptable(found: int, verdict: str, words: str) -> None:
    told = finding(Question(100, 5, NINETY_FIVE), Answers(45, found))
    assert told.verdict == verdict
    assert words in told.means.words % told.means.params


def least_likely(lot: int, faulty: int, looked_at: int, found: int) -> Fraction:
    """How often `found` or fewer are met, by going through every sample of a lot that is laid out piece by piece."""
    pieces = [True] * faulty + [False] * (lot - faulty)
    samples = list(combinations(pieces, looked_at))
    return Fraction(sum(sum(sample) <= found for sample in samples), len(samples))


@pytest.mark.parametrize("sure", [80, 95])
@pytest.mark.parametrize("lot", range(1, 11))
def test_the_upper_bound_against_every_sample_of_every_small_lot(lot: int, sure: int) -> None:
    """No faulty count above the bound is likelier than the risk, and the bound itself is: nothing here but counting."""
    risk = 1 - Fraction(sure, 100)
    for looked_at in range(1, lot + 1):
        for found in range(looked_at + 1):
            most = finding(Question(lot, 1, Decimal(sure)), Answers(looked_at, found)).most
            possible = range(found, lot - looked_at + found + 1)
            likely = [n for n in possible if least_likely(lot, n, looked_at, found) > risk]
            assert most == max(likely), (lot, looked_at, found)


@pytest.mark.parametrize("looked_at", [7, 15])
@pytest.mark.parametrize("faulty", range(31))
def test_the_statement_is_wrong_no_oftener_than_it_says(faulty: int, looked_at: int) -> None:
    """Of a lot of 30 with `faulty` in it: how often the finding says fewer than there are, weighed by the number of
    samples that find so many (math.comb)."""
    lot, ways = 30, comb(30, looked_at)
    wrong = 0
    for found in range(max(0, looked_at - (lot - faulty)), min(faulty, looked_at) + 1):
        if finding(Question(lot, 1, NINETY_FIVE), Answers(looked_at, found)).most < faulty:
            wrong += comb(faulty, found) * comb(lot - faulty, looked_at - found)
    assert Fraction(wrong, ways) <= Fraction(5, 100)


@given(st.integers(1, 400), st.data())
def test_none_found_in_the_sample_asked_for_is_always_acceptable(lot: int, data: st.DataObject) -> None:
    question = Question(
        lot, data.draw(st.integers(1, lot)), Decimal(data.draw(st.sampled_from([80, 95, 99])))
    )
    assert finding(question, Answers(question.sample, 0)).verdict == "within"


class TestShare:
    @pytest.mark.parametrize(
        ("lot", "share", "faulty"),
        [
            (100, "5", 5),
            (47, "5", 3),
            (300, "1", 3),
            (10, "1", 1),
            (3, "100", 3),
            (1000, "0.1", 1),
            (1000, "0.7", 7),
        ],
    )
    def test_the_first_whole_number_that_reaches_it(self, lot: int, share: str, faulty: int) -> None:
        assert reaching(lot, Decimal(share)) == faulty

    def test_what_is_not_whole_says_which_is_meant(self) -> None:
        told = not_whole(47, Decimal("5.0"))
        assert told is not None
        assert told.words % told.params == (
            "5 % of 47 are 2.35 pieces. 3 is meant, the first whole number that is so much or more."
        )
        assert not_whole(100, Decimal(5)) is None


class TestDraw:
    def test_anybody_draws_the_same_again_as_the_paper_says(self) -> None:
        assert draw(TAGS, 45, 20260311) == Random(20260311).sample(sorted(TAGS), 45)

    def test_the_draw_is_fixed_for_ever(self) -> None:
        """Made once by CPython 3.11 and written down: another version that drew otherwise would be seen here."""
        assert draw(TAGS[:20], 5, 42) == ["BG0003X", "BG0000X", "BG0008X", "BG0007X", "BG0016X"]

    def test_whatever_the_order_in_which_the_lot_was_read(self) -> None:
        assert draw(reversed(TAGS), 45, 7) == draw(TAGS, 45, 7)

    def test_no_piece_twice_and_none_from_elsewhere(self) -> None:
        drawn = draw(TAGS, 45, 1)
        assert len(set(drawn)) == 45 and set(drawn) <= set(TAGS)

    def test_every_piece_has_the_same_chance(self) -> None:
        """2,000 seeds, 20 of 100 each: 400 a piece, with a standard deviation of 17.9; nobody is 5 of them away."""
        times = dict.fromkeys(TAGS, 0)
        for seed in range(2_000):
            for tag in draw(TAGS, 20, seed):
                times[tag] += 1
        assert max(abs(count - 400) for count in times.values()) < 5 * 17.9

    def test_the_list_of_the_lot_has_a_digest_that_a_shell_makes_too(self) -> None:
        # printf 'BG0001X\nBG0002X\n' | sha256sum
        expected = sha256(b"BG0001X\nBG0002X\n").hexdigest()
        assert audit.lot_digest(["BG0002X", "BG0001X"]) == expected


def test_what_is_never_sampled_says_why() -> None:
    never = {kind.code: kind.never_sampled for kind in catalogue.load().kind if kind.never_sampled}
    assert set(never) == {"ladder", "goggles", "trailer", "first_aid_kit"}
    assert all("looked at" in why for why in never.values())
