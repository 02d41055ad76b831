"""The list of registers, one of them with its question and first lines, and the printing of it."""

from collections.abc import Iterator
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from crews import policy
from equipment.actions.print_register import check, print_register
from equipment.documents.registers.cautioned import cautions
from equipment.domain import codes
from equipment.models import Printing
from equipment.models.registers import REGISTERS, Register, heads_to_read
from equipment.pages.links import link
from equipment.pages.registers import days, people
from equipment.pages.registers.asking import AskForm
from equipment.pages.registers.files import SIZES, Differs, file_of
from equipment.pages.registers.limits import MOST_ON_PAPER
from equipment.pages.registers.printings import latest
from equipment.pages.registers.showing import shown, too_large


def registers(request: HttpRequest) -> HttpResponse:
    context = {
        "registers": list(_open_to(request.user)),
        "printings": latest(request.user),
        "charts": link(request.user, "charts"),
        "verify": link(request.user, "verify"),
    }
    return render(request, "registers.html", context)


def register(request: HttpRequest, name: str) -> HttpResponseBase:
    """Look (GET), or print what was asked (POST): that is kept, so it is a change. What is only to be shown gets an
    address of its own."""
    asked_of = _named(request, name)
    form = AskForm(request.POST or request.GET, asked_of, request.user, timezone.localdate())
    wanted = request.POST.get("form", "")
    if request.method == "POST" and wanted not in Printing.Form.values:
        return redirect(f"{reverse('register', args=[name])}?{form.query()}")
    if request.method == "POST" and form.is_valid():
        return _printed(request, asked_of, form, wanted)
    return _page(request, asked_of, form)


def printing(request: HttpRequest, code: str) -> HttpResponseBase:
    """What was printed, made again."""
    kept = _kept(code)
    people.may_see_lines(request.user, REGISTERS[kept.register], kept.what)
    size = request.GET.get("paper", "")
    try:
        return file_of(kept, size if size in SIZES else "")
    except Differs:
        messages.error(request, _("It cannot be made again: the book no longer says what was printed."))
        return redirect(link(request.user, "verify_one", kept.code) or "registers")


def _open_to(user: Any) -> Iterator[Register]:
    """In the order of the policy's table."""
    for name in policy.REGISTERS:
        if name in REGISTERS and policy.may_print(user, name):
            yield REGISTERS[name]


def _named(request: HttpRequest, name: str) -> Register:
    if name not in REGISTERS:
        raise Http404
    people.may_see(request.user, REGISTERS[name])
    return REGISTERS[name]


def _kept(code: str) -> Printing:
    """Raises Http404."""
    try:
        found = codes.parse(code)
    except codes.BadCode:
        raise Http404 from None
    kept = get_object_or_404(Printing.objects.select_related("by"), pk=found.number)
    if found.prefix != codes.PRINTING or kept.register not in REGISTERS:
        raise Http404
    return kept


def _printed(request: HttpRequest, asked_of: Register, form: AskForm, wanted: str) -> HttpResponse:
    """Kept, and then shown from its own address: to load that again prints nothing anew."""
    at = timezone.now()
    try:
        check(asked_of, form.asked)
    except ValueError as error:
        form.add_error(None, str(error))
        return _page(request, asked_of, form)
    heads = heads_to_read()
    if wanted != Printing.Form.CSV and too_large(asked_of, form.asked, heads):
        return _page(request, asked_of, form)
    kept = print_register(asked_of, form.asked, wanted, request.user, at, heads)
    size = request.POST.get("paper", "")
    address = reverse("printing", args=[kept.code])
    return HttpResponseRedirect(f"{address}?paper={size}" if size in SIZES else address)


def _page(request: HttpRequest, asked_of: Register, form: AskForm) -> HttpResponse:
    """The form, and below it the first lines where the question is whole."""
    posted = request.method == "POST"
    context: dict[str, Any] = {
        "register": asked_of,
        "form": form,
        "presets": form.links(days.presets(timezone.localdate())),
        "head": [_(column.head) for column in asked_of.sealed],
        "notes": [_(note) for note in asked_of.notes],
        "cautions": cautions(asked_of.cautions),
        "most": number_format(MOST_ON_PAPER),
        "forms": Printing.Form.choices,
        "sizes": list(SIZES),
        "size": request.POST.get("paper", settings.PAPER_SIZE),
    }
    if form.is_valid():
        try:
            check(asked_of, form.asked)
        except ValueError as error:
            context["wants"] = str(error)
        else:
            context |= _answer(form, asked_of)
    return render(request, "register.html", context, status=400 if posted else 200)


def _answer(form: AskForm, asked_of: Register) -> dict[str, Any]:
    found = shown(asked_of, form.asked, timezone.now())
    offers = days.smaller(form.asked.first, form.asked.last) if found.large else []
    return {"shown": found, "offers": form.links(offers)}
