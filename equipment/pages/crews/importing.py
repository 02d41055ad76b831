"""The upload page for lists: a look first at what the file would do, then the word to do it."""

import csv
import io
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.actions.importing import KINDS, Result, import_list
from equipment.actions.importing.reader import MOST_BYTES, TOO_BIG
from equipment.models import Upload
from equipment.models.uploads import KEPT_FOR
from equipment.pages.links import link

# Of a long list of what is added, this many lines stand on the page.
MOST_LINES = 100


class UploadForm(forms.Form):
    kind = forms.ChoiceField(
        label=gettext_lazy("What is in the list"),
        choices=lambda: [(kind.name, kind.words) for kind in KINDS.values()],
    )
    file = forms.FileField(
        label=gettext_lazy("File"),
        help_text=gettext_lazy(
            "A CSV file, as any spreadsheet saves it. Nothing is written before you have seen it."
        ),
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,text/csv"}),
        allow_empty_file=True,
    )

    def clean_file(self) -> UploadedFile:
        file: UploadedFile = self.cleaned_data["file"]
        if file.size and file.size > MOST_BYTES:
            raise forms.ValidationError(_(TOO_BIG) % {"most": MOST_BYTES // 1024**2})
        return file


def upload(request: HttpRequest) -> HttpResponse:
    form = UploadForm(request.POST or None, request.FILES or None, initial={"kind": request.GET.get("kind")})
    if request.method == "POST" and form.is_valid():
        return _look(request, form.cleaned_data["kind"], form.cleaned_data["file"])
    return render(request, "import.html", {"form": form, "kinds": KINDS.values()})


def _look(request: HttpRequest, kind: str, file: UploadedFile) -> HttpResponse:
    """The dry run; a file that is good is kept until it is confirmed."""
    now = timezone.now()
    Upload.objects.stale(now).delete()
    data = file.read()
    result = import_list(kind, data, request.user, now, dry_run=True)
    kept = None
    if result.good:
        name = " ".join((file.name or "").split())[:120]
        kept = Upload.objects.create(owner=request.user, kind=kind, name=name, data=data, at=now)
    return render(request, "import_result.html", _shown(request, result, kept))


def confirm(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Do what the dry run said, as of now: it is worked out anew, and may find something bad by now."""
    if request.method != "POST":
        return redirect("import")
    now = timezone.now()
    found = Upload.objects.filter(pk=pk, owner=request.user, at__gte=now - KEPT_FOR).first()
    # Whoever deletes it imports it: a second press finds nothing.
    if found is None or not Upload.objects.filter(pk=pk).delete()[0]:
        messages.warning(
            request, _("This file was imported already, or waited for over an hour. Choose it again.")
        )
        return redirect("import")
    result = import_list(found.kind, bytes(found.data), request.user, now)
    return render(request, "import_result.html", _shown(request, result, None))


def _shown(request: HttpRequest, result: Result, kept: Upload | None) -> dict[str, Any]:
    return {
        "result": result,
        "kind": KINDS[result.kind],
        "upload": kept,
        "added": result.added[:MOST_LINES],
        "added_left_out": max(0, len(result.added) - MOST_LINES),
        "changed": result.changed[:MOST_LINES],
        "changed_left_out": max(0, len(result.changed) - MOST_LINES),
        "holding": sum(bool(missing.tags) for missing in result.missing),
        "labels": link(request.user, "labels", query=f"act={result.act}") if result.new_pieces else "",
        "cards": link(request.user, "cards") if result.new_cards else "",
    }


def header(request: HttpRequest, kind: str) -> HttpResponse:
    """An empty list: the line with the names of the columns, as a file."""
    if kind not in KINDS:
        raise Http404
    line = io.StringIO()
    csv.writer(line).writerow(KINDS[kind].columns)
    return HttpResponse(
        "\ufeff" + line.getvalue(),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{kind}.csv"'},
    )
