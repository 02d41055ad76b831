"""Where the crew is: three short forms, each with a time that may lie back until yesterday, never ahead."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import Block
from equipment.domain.verbs.stopped import CAUSES

TODAY, YESTERDAY = "today", "yesterday"
CLOCK = {"type": "time", "autocomplete": "off"}


class WhenForm(forms.Form):
    """`cleaned_data["at"]` is the moment meant, now where nobody said another one."""

    time = forms.TimeField(
        label=gettext_lazy("At"),
        required=False,
        help_text=gettext_lazy("Leave it empty for now."),
        widget=forms.TimeInput(attrs=CLOCK, format="%H:%M"),
        error_messages={"invalid": gettext_lazy("Write the time as 06:30.")},
    )
    day = forms.ChoiceField(
        label=gettext_lazy("Day"),
        choices=[(TODAY, gettext_lazy("today")), (YESTERDAY, gettext_lazy("yesterday"))],
        required=False,
    )
    field_order: Iterable[str] | None = None

    def __init__(self, data: Any, name: str, now: datetime) -> None:
        super().__init__(data, auto_id=f"{name}_%s")
        self.now = now

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        time, back = data.get("time"), data.get("day") == YESTERDAY
        data["at"] = self.now
        if "time" in self.errors:
            return data
        if time is None and back:
            self.add_error("time", _("Say at what time it was yesterday."))
        elif time is not None:
            day = timezone.localdate(self.now) - timedelta(days=back)
            data["at"] = timezone.make_aware(datetime.combine(day, time))
            if data["at"] > self.now:
                self.add_error("time", _("That time is still to come. Write down what has happened."))
        return data


class ArrivedForm(WhenForm):
    block = forms.ChoiceField(label=gettext_lazy("Block"))
    field_order = ("block", "time", "day")

    def __init__(self, data: Any, name: str, now: datetime, planned: Iterable[Block] = ()) -> None:
        super().__init__(data, name, now)
        planned = list(dict.fromkeys(planned))
        others = [block for block in Block.objects.all() if block not in planned]
        found = [(_("Planned today"), planned), (_("Other blocks"), others)] if planned else [("", others)]
        groups = [(words, [(block.pk, block_words(block)) for block in blocks]) for words, blocks in found]
        self.fields["block"].choices = groups if planned else groups[0][1]  # type: ignore[attr-defined]


class StoppedForm(WhenForm):
    cause = forms.ChoiceField(
        label=gettext_lazy("Why"), choices=lambda: [(code, _(words)) for code, words in CAUSES.items()]
    )
    field_order = ("cause", "time", "day")


def block_words(block: Block) -> str:
    """ "N4, lemon": the block as people choose it."""
    words = [block.pk, block.name, block.crop, block.farm]
    return ", ".join(word for word in words if word)
