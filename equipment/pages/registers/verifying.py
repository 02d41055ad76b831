"""Verify: the code at the foot of a printed register, and whether that paper still agrees with the book.

The answer comes in pieces: following a long book takes a while, and whoever waits sees how far it is.
"""

import logging
from collections.abc import Iterator
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import translation
from django.utils.formats import number_format
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.actions.verify_printing import Progress, Verdict, verifying
from equipment.domain import codes, printed
from equipment.models import Printing
from equipment.models.registers import REGISTERS
from equipment.pages.crews.fields import CODE
from equipment.pages.registers.verdicts import said

log = logging.getLogger(__name__)
# Where the answer goes in the page; nobody writes that.
HERE = "<!-- answer -->"
# Shorter ones are done before anybody wonders; longer ones say so often how far they are.
QUICK, TOLD_TIMES = 20_000, 50


class CodeForm(forms.Form):
    code = forms.CharField(
        label=gettext_lazy("Code at the foot, or the symbol beside it"),
        max_length=codes.LONGEST_TEXT,
        error_messages={"required": gettext_lazy("Scan the symbol at the foot, or type the code beside it.")},
        widget=forms.TextInput(CODE),
    )

    def clean_code(self) -> printed.Printed:
        try:
            return printed.parse(self.cleaned_data["code"])
        except codes.BadCode as error:
            raise forms.ValidationError(_(error.message) % error.params) from None


def verify(request: HttpRequest) -> HttpResponse:
    if "code" not in request.GET:
        form = CodeForm()
        form.fields["code"].widget.attrs["autofocus"] = True
        return render(request, "verify.html", {"form": form})
    form = CodeForm(request.GET)
    if not form.is_valid():
        return render(request, "verify.html", {"form": form}, status=400)
    read = form.cleaned_data["code"]
    address = reverse("verify_one", args=[read.code])
    return redirect(f"{address}?digest={read.digest}" if read.digest else address)


def verify_one(request: HttpRequest, code: str) -> HttpResponseBase:
    form = CodeForm({"code": f"{code} {request.GET.get('digest', '')}"})
    if not form.is_valid():
        return render(request, "verify.html", {"form": form}, status=400)
    read: printed.Printed = form.cleaned_data["code"]
    number = codes.parse(read.code).number
    printing = Printing.objects.select_related("by").filter(pk=number).first()
    if printing is None or printing.register not in REGISTERS:
        context = {"form": CodeForm(), "never": read.code, "known": printing}
        return render(request, "verify.html", context, status=404)
    page = render_to_string("verify.html", {"form": CodeForm(), "here": HERE, "code": read.code}, request)
    answer = StreamingHttpResponse(_told(request, page, printing, read.digest))
    answer["Cache-Control"] = "no-store"
    return answer


def _told(request: HttpRequest, page: str, printing: Printing, read: str) -> Iterator[str]:
    before, _here, after = page.partition(HERE)
    yield before
    with translation.override(translation.get_language()):
        try:
            verdict = yield from _waiting(printing, read)
            yield render_to_string("_partials/verified.html", said(request.user, verdict), request)
        except (
            Exception
        ):  # the head of the page is out already: what went wrong is said where the answer belongs
            log.exception("Verifying %s broke off", printing.code)
            words = _(
                "The check broke off. Try it again; if it breaks off again, run verify_book on the machine."
            )
            yield format_html('<p class="wrong" role="alert">{}</p>', words)
    yield after


def _waiting(printing: Printing, read: str) -> Any:
    """Lines of how far it is, while it is worked out."""
    steps, told = verifying(printing, read), 0
    while True:
        try:
            at: Progress = next(steps)
        except StopIteration as done:
            verdict: Verdict = done.value
            return verdict
        if at.total > QUICK and at.done - told > at.total / TOLD_TIMES:
            told = at.done
            words = {"done": number_format(at.done), "total": number_format(at.total)}
            line = _("%(done)s of %(total)s lines of the book are looked at …") % words
            yield format_html('<p class="checking quiet">{}</p>', line)
