"""The page on which labels are chosen and printed: new ones, lost ones, or all that a filter finds."""

from typing import Any
from uuid import UUID

from django import forms
from django.conf import settings
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import languages, policy
from crews.models import Crew, Store
from equipment.documents import labels, layouts
from equipment.documents.labels import LabelRow
from equipment.domain import codes
from equipment.models import ItemState, Kind, Label
from equipment.models.finding import Wanted, find
from equipment.models.reading import items
from equipment.pages import sought
from equipment.pages.printing import PlaceForm, pdf

SHEET, ROLL, TINY, TINY_ROLL = "sheet", "roll", "tiny", "tiny-roll"
MOST = 5000


def _papers() -> list[tuple[str, Any]]:
    """Paper to choose from, grouped: A4 sheets, rolls, tiny labels for clippers."""
    return [
        (
            gettext_lazy("A4 sheets"),
            [(f"{SHEET} {name}", _called(layout)) for name, layout in layouts.LAYOUTS.items()],
        ),
        (gettext_lazy("Label rolls"), [(f"{ROLL} {name}", name) for name in layouts.ROLLS]),
        (
            gettext_lazy("Tiny, for clippers (300 dots an inch)"),
            [(f"{TINY} {layouts.TINY.name}", _called(layouts.TINY))]
            + [(f"{TINY_ROLL} {name}", gettext_lazy("roll %s") % name) for name in layouts.TINY_ROLLS],
        ),
    ]


def _called(layout: layouts.Layout) -> str:
    size = {"width": number_format(layout.width), "height": number_format(layout.height)}
    return _("%(n)d labels of %(width)s x %(height)s mm") % {"n": layout.places, **size}


class LabelForm(PlaceForm):
    tags = forms.CharField(
        label=gettext_lazy("Tags"),
        required=False,
        help_text=gettext_lazy(
            "Scan or type them, one after the other. Empty: all that the choices below find."
        ),
        widget=forms.Textarea(attrs={"rows": 3, "class": "code", "spellcheck": "false"}),
    )
    kind = forms.ModelChoiceField(label=gettext_lazy("Kind"), queryset=Kind.objects.all(), required=False)
    store = forms.ModelChoiceField(label=gettext_lazy("Store"), queryset=Store.objects.all(), required=False)
    crew = forms.ModelChoiceField(label=gettext_lazy("Crew"), queryset=Crew.objects.all(), required=False)
    act = forms.UUIDField(required=False, widget=forms.HiddenInput)
    # What the list of gear was narrowed by, when its labels are asked for.
    q = forms.CharField(required=False, max_length=1000, widget=forms.HiddenInput)
    place = forms.CharField(required=False, max_length=8, widget=forms.HiddenInput)
    owner = forms.CharField(required=False, max_length=80, widget=forms.HiddenInput)
    stand = forms.CharField(required=False, max_length=8, widget=forms.HiddenInput)
    paper = forms.ChoiceField(label=gettext_lazy("Paper"), choices=_papers, required=False)

    field_order = ("tags", "kind", "store", "crew", "paper", "start", "used", "act")

    def clean_q(self) -> str:
        """In the form, which goes into an address again, it stays sealed."""
        return sought.unsealed(self.cleaned_data["q"])[: sought.LONGEST]

    def clean_tags(self) -> list[str]:
        wrong, found = [], []
        for text in self.cleaned_data["tags"].split():
            try:
                found.append(codes.parse(text).text)
            except codes.BadCode as error:
                wrong.append(_(error.message) % error.params)
        if wrong:
            raise forms.ValidationError(wrong)
        return found

    def clean_paper(self) -> tuple[str, str]:
        make, _space, name = (
            self.cleaned_data["paper"] or f"{SHEET} {next(iter(layouts.LAYOUTS))}"
        ).partition(" ")
        return make, name


def chosen(data: dict[str, Any], rows: QuerySet[ItemState]) -> QuerySet[ItemState]:
    """The items that the form chooses, in the order of their tags; none where nothing is chosen."""
    asked = Q()
    said = {name: data.get(name, "") for name in ("place", "owner", "stand")}
    listed = Wanted(text=data.get("q", ""), **said, at=timezone.now() if said["stand"] else None)
    if listed != Wanted():
        asked &= Q(pk__in=find(ItemState.objects.all(), listed, timezone.localdate()).values("pk"))
    for name, lookup in (("kind", "item__kind"), ("store", "store"), ("crew", "crew")):
        if data.get(name):
            asked &= Q(**{lookup: data[name]})
    if data.get("act"):
        asked &= Q(item__entries__act=data["act"], item__entries__verb="registered")
    if data.get("tags"):
        asked &= Q(item__labels__code__in=data["tags"])
    return rows.filter(asked).exclude(place="gone").order_by("tag").distinct() if asked else rows.none()


def label_row(state: ItemState) -> LabelRow:
    item = state.item
    hand = {"left": _("left-handed"), "right": _("right-handed")}.get(item.hand, "")
    second = " ".join(part for part in (item.make, item.size, hand) if part)
    return LabelRow(state.tag, tuple(line for line in (str(item.kind), second, item.owner) if line))


def draw(form: LabelForm, rows: list[LabelRow]) -> bytes:
    """The PDF on the chosen paper. Raises ValueError with a sentence where the places do not exist."""
    make, name = form.cleaned_data["paper"]
    farm, base = settings.FARM_NAME, settings.LABEL_URL_BASE
    if make == ROLL:
        return labels.label_roll(rows, layouts.ROLLS[name], farm, base)
    if make == TINY_ROLL:
        return labels.tiny_roll(rows, layouts.TINY_ROLLS[name], farm)
    if make == TINY:
        return labels.tiny_sheets(rows, farm, start=form.place())
    return labels.label_sheets(rows, layouts.LAYOUTS[name], farm, form.place(), base)


def label_page(request: HttpRequest) -> HttpResponse:
    """Choose, look at what was chosen, and print: with `print` in the query the answer is the PDF."""
    asked = request.GET.copy()
    asked.setdefault("start", "1")
    form = LabelForm(asked if request.GET else None)
    states: list[ItemState] = []
    if form.is_valid():
        rows = chosen(form.cleaned_data, items(timezone.localdate(), request.user))
        states = list(rows[: MOST + 1])
        form_problem = _problem(form, states)
        if "print" in request.GET and not form_problem:
            try:
                with languages.of_the_farm():
                    return pdf(draw(form, [label_row(state) for state in states]), "labels")
            except ValueError as error:
                form_problem = str(error)
        if form_problem:
            form.add_error(None, form_problem)
    return render(
        request,
        "labels.html",
        {
            "form": form,
            "words": sought.asked(request).get("q", ""),
            "states": states[:60],
            "count": len(states),
            "act": _act(request),
            "may_calibrate": policy.may_open(request.user, "calibrate", "GET"),
        },
        status=400 if form.errors and "print" in request.GET else 200,
    )


def _problem(form: LabelForm, states: list[ItemState]) -> str:
    if len(states) > MOST:
        return _("More than %(most)d labels. Choose fewer, a kind or a store at a time.") % {"most": MOST}
    if missing := set(form.cleaned_data["tags"]) - _codes_of(states):
        return _("No item has the code %(tags)s.") % {"tags": ", ".join(sorted(missing)[:10])}
    if not states:
        return _("Nothing is chosen: scan tags, or choose a kind, a store or a crew.")
    return ""


def _codes_of(states: list[ItemState]) -> set[str]:

    items_chosen = [state.item_id for state in states[:MOST]]
    return set(Label.objects.filter(item__in=items_chosen).values_list("code", flat=True))


def _act(request: HttpRequest) -> UUID | None:
    try:
        return UUID(request.GET["act"])
    except (KeyError, ValueError):
        return None
