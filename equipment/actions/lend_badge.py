"""Badges: a new card for a picker, a day card, a card that is lost."""

from collections.abc import Sequence
from datetime import date, timedelta

from django.db import transaction

from crews.models import Badge, BadgeLoan, NumberSeries, Picker
from equipment.actions.appeared import appeared
from equipment.domain import codes


class CardNotFree(ValueError):
    """The card cannot be lent; the message says why and what to do."""


def new_codes(count: int) -> list[str]:
    return NumberSeries.take(
        codes.BADGE, count, lambda taken: Badge.objects.filter(pk__in=taken).values_list("pk", flat=True)
    )


@transaction.atomic
def lend_new(pickers: list[Picker], day: date) -> list[Badge]:
    """A new card for each picker from `day` on, in their order. Cards they hold already stay as they are."""
    badges = Badge.objects.bulk_create(Badge(code=code) for code in new_codes(len(pickers)))
    BadgeLoan.objects.bulk_create(
        BadgeLoan(badge=badge, picker=picker, from_day=day)
        for badge, picker in zip(badges, pickers, strict=True)
    )
    appeared([badge.pk for badge in badges])
    return badges


@transaction.atomic
def lend_these(cards: Sequence[tuple[Picker, str]], day: date) -> None:
    """Each picker gets the card with this code from `day` on, one that exists already or is new to the book; the card
    they had before is given back. Whether the cards are free is the caller's to know."""
    if not cards:
        return
    given = {code for _picker, code in cards}
    before = BadgeLoan.objects.on(day).filter(
        picker__in=[picker for picker, _code in cards], badge__day_card=False
    )
    returned = list(before.exclude(badge__in=given))
    for loan in returned:
        loan.to_day = max(day - timedelta(days=1), loan.from_day)
    BadgeLoan.objects.bulk_update(returned, ["to_day"])
    Badge.objects.bulk_create([Badge(code=code) for code in sorted(given)], ignore_conflicts=True)
    BadgeLoan.objects.bulk_create(
        BadgeLoan(badge_id=code, picker=picker, from_day=day) for picker, code in cards
    )
    appeared(sorted(given))


@transaction.atomic
def reissue(picker: Picker, day: date, why: str) -> Badge:
    """A new card in place of a lost one: every other card of the picker is dead from `day` on."""
    for loan in (
        BadgeLoan.objects.on(day).filter(picker=picker, badge__day_card=False).select_related("badge")
    ):
        loan.badge.died_on, loan.badge.why = day, why
        loan.badge.save(update_fields=["died_on", "why"])
        loan.to_day = max(day, loan.from_day)
        loan.save(update_fields=["to_day"])
    return lend_new([picker], day)[0]


@transaction.atomic
def lend_day_card(badge: Badge, picker: Picker, day: date) -> BadgeLoan:
    """Lend a day card for this day only. Raises CardNotFree."""
    badge = Badge.objects.select_for_update().get(pk=badge.pk)  # two counters, one card
    if not badge.day_card:
        raise CardNotFree(f"{badge.code} is not a day card.")
    if badge.died_on is not None and badge.died_on <= day:
        raise CardNotFree(f"{badge.code} was reported lost. Take another day card.")
    if (
        taken := BadgeLoan.objects.on(day)
        .filter(badge=badge)
        .exclude(picker=picker)
        .select_related("picker")
        .first()
    ):
        raise CardNotFree(f"{badge.code} is lent to {taken.picker.name} today. Take another day card.")
    loan, _ = BadgeLoan.objects.get_or_create(badge=badge, picker=picker, from_day=day, to_day=day)
    appeared([badge.pk])
    return loan
