"""What is asked of a page of figures: which, of which days, and by somebody who may see it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from crews import policy
from crews.models import User
from equipment.documents.figures import OF_A_KIND, Around, Figure, Page, around, page_of, read
from equipment.models.charts import Window
from equipment.pages.registers.charts import WindowForm


class DaysOnly(WindowForm):
    store = None  # type: ignore[assignment]

    @property
    def window(self) -> Window:
        return Window(self.cleaned_data["first"], self.cleaned_data["last"])


@dataclass(frozen=True)
class Asked:
    """`form` None where the page is of the whole book. Where the form is wrong there are no figures."""

    page: Page
    beside: Around
    form: DaysOnly | None
    figures: Sequence[Figure]

    @property
    def at(self) -> datetime:
        return self.beside.at

    @property
    def title(self) -> str:
        kind = self.beside.kind(self.page.name.removeprefix(OF_A_KIND), plural=True)
        return _(self.page.title) % {"kind": kind}

    @property
    def query(self) -> str:
        return self.form.query() if self.form and self.form.is_valid() else ""

    @property
    def said(self) -> str:
        """Of which days it is."""
        if self.form is None:
            return _("The whole book")
        days = {name: date_format(self.form.cleaned_data[name], _("j F Y")) for name in ("first", "last")}
        return _("%(first)s to %(last)s") % days

    def one(self, which: str) -> Figure:
        """Raises Http404."""
        found = next((figure for figure in self.figures if figure.name == which), None)
        if found is None:
            raise Http404
        return found


def asked(request: HttpRequest, name: str) -> Asked:
    """Raises Http404 and PermissionDenied."""
    beside = around(timezone.now())
    page = page_of(name, beside)
    if page is None:
        raise Http404
    if not may_see(request.user, page):  # type: ignore[arg-type]
        raise PermissionDenied
    today = timezone.localdate(beside.at)
    form = DaysOnly(request.GET, today) if page.by_days else None
    if form is not None and not form.is_valid():
        return Asked(page, beside, form, [])
    beside, found = read(page, beside, form.window if form else Window(today, today))
    return Asked(page, beside, form, found)


def may_see(user: User, page: Page) -> bool:
    return not page.register or policy.may_print(user, page.register)
