"""What the board tells of counted goods: by store what runs low, what is past its date, and what soon will be."""

from dataclasses import dataclass, field

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from crews.models import Store, User
from equipment.actions.amounts import amount
from equipment.models.shelf import wanting
from equipment.pages.links import link


@dataclass
class Wants:
    """`low`, `expired` and `soon` name the goods, in words."""

    store: Store
    url: str
    low: list[str] = field(default_factory=list)
    expired: list[str] = field(default_factory=list)
    soon: list[str] = field(default_factory=list)


def wants(user: User) -> list[Wants]:
    """A line for each store where something is wanting. One query."""
    found: dict[str, Wants] = {}
    for each in wanting(timezone.localdate()):
        url = link(user, "goods", query=f"store={each.store.pk}")
        line = found.setdefault(each.store.pk, Wants(each.store, url))
        if each.low:
            line.low.append(f"{each.goods} ({amount(each.fresh, each.goods.unit)})")
        if each.expired:
            line.expired.append(str(each.goods))
        if each.soon:
            line.soon.append(f"{each.goods} ({date_format(each.soon, _('j F'))})")
    return list(found.values())
