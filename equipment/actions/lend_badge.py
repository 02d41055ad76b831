"""Badges: a new card for a picker, a day card, a card that is lost."""

from datetime import date

from django.db import transaction

from crews.models import Badge, BadgeLoan, NumberSeries, Picker
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
        BadgeLoan(badge=badge, picker=picker, from_day=day) for badge, picker in zip(badges, pickers, strict=True)
    )
    return badges


@transaction.atomic
def reissue(picker: Picker, day: date, why: str) -> Badge:
    """A new card in place of a lost one: every other card of the picker is dead from `day` on."""
    for loan in BadgeLoan.objects.on(day).filter(picker=picker, badge__day_card=False).select_related("badge"):
        loan.badge.died_on, loan.badge.why = day, why
        loan.badge.save(update_fields=["died_on", "why"])
        loan.to_day = max(day, loan.from_day)
        loan.save(update_fields=["to_day"])
    return lend_new([picker], day)[0]


@transaction.atomic
def lend_day_card(badge: Badge, picker: Picker, day: date) -> BadgeLoan:
    """Lend a day card for this day only. Raises CardNotFree."""
    if not badge.day_card:
        raise CardNotFree(f"{badge.code} is not a day card.")
    if badge.died_on is not None and badge.died_on <= day:
        raise CardNotFree(f"{badge.code} was reported lost. Take another day card.")
    if taken := BadgeLoan.objects.on(day).filter(badge=badge).exclude(picker=picker).select_related("picker").first():
        raise CardNotFree(f"{badge.code} is lent to {taken.picker.name} today. Take another day card.")
    loan, _ = BadgeLoan.objects.get_or_create(badge=badge, picker=picker, from_day=day, to_day=day)
    return loan
