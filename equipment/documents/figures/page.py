"""The pages of figures by name: what each is of, and who may see it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.utils.translation import gettext_noop

from equipment.documents.figures import costs, lifetimes, purchases, spares, survival
from equipment.documents.figures.base import Around, Figure
from equipment.models.charts import Window

OF_A_KIND = "lifetimes-"


@dataclass(frozen=True, slots=True)
class Page:
    """`title` and `about` are gettext templates. `register` is what one may print to see it, "" where whoever sees the
    figures may; `by_days`: it is of a period."""

    name: str
    title: str
    about: str
    read: Callable[[Around, Window], list[Figure]]
    register: str = ""
    by_days: bool = False


PAGES: Mapping[str, Page] = {
    page.name: page
    for page in (
        Page(
            "lifetimes",
            gettext_noop("Lifetimes"),
            gettext_noop("How long each make lasts, and when a change before it fails pays."),
            lambda beside, _window: lifetimes.figures(beside),
        ),
        Page(
            "spares",
            gettext_noop("Spares"),
            gettext_noop("How many spares each crew takes along, and how sure that is."),
            lambda beside, _window: spares.figures(beside),
        ),
        Page(
            "purchases",
            gettext_noop("Purchases"),
            gettext_noop("What to buy for the coming weeks."),
            lambda beside, _window: purchases.figures(beside),
        ),
        Page(
            "costs",
            gettext_noop("Costs"),
            gettext_noop("What was lost, worn out and mended, by crew and kind."),
            costs.figures,
            register="losses",
            by_days=True,
        ),
    )
}


def page_of(name: str, beside: Around) -> Page | None:
    """The page of that name, None where there is none."""
    if name in PAGES:
        return PAGES[name]
    kind = name.removeprefix(OF_A_KIND)
    if not name.startswith(OF_A_KIND) or kind not in beside.kinds:
        return None
    title = gettext_noop("How long they last: %(kind)s")
    return Page(name, title, "", lambda beside, _window: survival.figures(beside, kind))
