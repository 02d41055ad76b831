"""The question that a register is asked, as a form: days, and only those filters that it understands."""

from datetime import date
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import Block, Store, User
from equipment.domain import codes
from equipment.models import Kind, Label
from equipment.models.reading import crews
from equipment.models.registers import Asked, Register
from equipment.pages import sought
from equipment.pages.crews.fields import CODE
from equipment.pages.registers import people
from equipment.pages.registers.days import book_began, last_week
from equipment.pages.registers.days_form import DaysForm

NOT_THERE = gettext_lazy("There is no such choice, or it is not yours to see. Choose one from the list.")


class AskForm(DaysForm):
    """`asked` is the question once it is valid."""

    def __init__(self, data: Any, register: Register, user: User, today: date) -> None:
        self.register, self.user = register, user
        self.limited = people.limited(user, register)
        super().__init__(self._completed(data, today))
        known = register.filters | register.needs
        for name, field in _fields(user, self.limited).items():
            if name in known:
                self.fields[name] = field

    def _completed(self, data: Any, today: date) -> QueryDict:
        """With what is meant where nothing was said: last week, all of a piece's life, a supervisor's first crew."""
        given: QueryDict = data.copy()
        if "picker" in given:
            given["picker"] = sought.unsealed(given["picker"])
        if "first" not in given and "last" not in given:
            first, last = last_week(today)
            if "tag" in self.register.needs:
                first, last = min(book_began() or first, today), today
            given["first"], given["last"] = first.isoformat(), last.isoformat()
        if self.limited and "crew" in self.register.filters and not given.get("crew"):
            own = crews(self.user).order_by("-active", "name").values_list("pk", flat=True).first()
            given["crew"] = own or ""
        return given

    def clean_tag(self) -> str:
        text = self.cleaned_data["tag"]
        if not text:
            return ""
        try:
            code = codes.parse(text)
        except codes.BadCode as error:
            raise forms.ValidationError(_(error.message) % error.params) from None
        if not Label.objects.filter(pk=code.text).exists():
            raise forms.ValidationError(_("No piece has the code %(tag)s.") % {"tag": code.text})
        return code.text

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if data.get("last") and data.get("picker"):
            try:
                data["picker"] = people.picker(self.user, data["picker"], data["last"])
            except ValueError as error:
                self.add_error("picker", str(error))
        return data

    def query(self, **changed: str) -> str:
        """As of any such form; a name stands sealed in it."""
        if who := self.data.get("picker", ""):
            changed = {"picker": sought.sealed(who.strip()), **changed}
        return super().query(**changed)

    @property
    def asked(self) -> Asked:
        chosen = {name: value for name, value in self.cleaned_data.items() if value}
        return Asked(**{name: getattr(value, "pk", value) for name, value in chosen.items()})


def _fields(user: User, limited: bool) -> dict[str, forms.Field]:
    """By the name of the filter; those that list something ask for it only where they are shown."""
    return {
        "store": _choice(gettext_lazy("Store"), Store.objects.all()),
        "crew": _choice(gettext_lazy("Crew"), crews(user), required=limited),
        "block": _choice(gettext_lazy("Block"), Block.objects.all()),
        "kind": _choice(gettext_lazy("Kind"), Kind.objects.all()),
        "picker": forms.CharField(
            label=gettext_lazy("Picker: card, number or name"),
            required=False,
            max_length=120,
            widget=forms.TextInput({"autocomplete": "off", "spellcheck": "false"}),
        ),
        "tag": forms.CharField(
            label=gettext_lazy("Piece: scan its tag"),
            required=False,
            max_length=200,
            widget=forms.TextInput(CODE),
        ),
    }


def _choice(label: Any, rows: Any, required: bool = False) -> forms.ModelChoiceField:
    empty = None if required else gettext_lazy("all")
    messages = {"invalid_choice": NOT_THERE}
    return forms.ModelChoiceField(
        rows, label=label, required=required, empty_label=empty, error_messages=messages
    )
