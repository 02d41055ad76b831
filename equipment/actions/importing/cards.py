"""The cards that a list gives to its pickers: which may be theirs, and who has one already."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from django.db.models import Q
from django.utils.translation import gettext as _

from crews.models import Badge, BadgeLoan, Picker
from equipment.domain import codes


class Cards:
    """Reads, in two queries, the `asked` cards and every loan that is in force on `day` or begins later."""

    def __init__(self, day: date, asked: Sequence[str]) -> None:
        self._day = day
        self._badges = {badge.pk: badge for badge in Badge.objects.filter(pk__in=asked)}
        self._holders: dict[str, Picker] = {}
        self._held: dict[int, set[str]] = defaultdict(set)
        loans = BadgeLoan.objects.filter(Q(to_day=None) | Q(to_day__gte=day)).select_related(
            "picker", "badge"
        )
        for loan in loans.order_by("from_day", "id"):
            if loan.badge.died_on is None or loan.badge.died_on > day:
                self._holders[loan.badge_id] = loan.picker
                if not loan.badge.day_card and loan.from_day <= day:
                    self._held[loan.picker_id].add(loan.badge_id)

    def of(self, picker: Picker) -> set[str]:
        """The cards that the picker holds, day cards apart."""
        return self._held.get(picker.pk, set())

    def wrong(self, code: str, picker: Picker) -> str:
        """Why this card cannot be the picker's; empty where it can, or none is given."""
        if not code or code in self.of(picker):
            return ""
        if codes.parse(code).prefix != codes.BADGE:
            return _("A badge's code begins with %(prefix)s.") % {"prefix": codes.BADGE}
        if (holder := self._holders.get(code)) and holder.number != picker.number:
            return _("This card is lent to %(name)s (%(number)s).") % {
                "name": holder.name,
                "number": holder.number,
            }
        if (badge := self._badges.get(code)) is None:
            return ""
        if badge.day_card:
            return _("This is a day card. It is lent for one day, at the counter.")
        if badge.died_on is not None and badge.died_on <= self._day:
            return _("This card was reported lost. Take another, or leave the cell empty for a new one.")
        return ""
