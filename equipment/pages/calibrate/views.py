"""`/counter/calibrate/`: the scanner types into the page, and the page says what is wrong and how to set it right."""

from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from equipment.documents import alphabet
from equipment.documents.alphabet import Probe
from equipment.pages.calibrate.words import FINDINGS, KEYBOARDS, WORDS
from equipment.pages.printing import pdf


@require_GET
def calibrate(request: HttpRequest) -> HttpResponse:
    probes = alphabet.probes(settings.LABEL_URL_BASE)
    context = {"probes": probes, "script": _script(probes)}
    return render(request, "calibrate.html", context)


@require_GET
def alphabet_pdf(request: HttpRequest) -> HttpResponse:
    return pdf(alphabet.alphabet_page(settings.FARM_NAME, settings.LABEL_URL_BASE), "calibrate-a-scanner")


def _script(probes: Sequence[Probe]) -> dict[str, Any]:
    """What the script is given: what the symbols hold, and every word."""
    findings = {code: {"say": str(say), "how": str(how)} for code, (say, how) in FINDINGS.items()}
    said = {name: {key: str(word) for key, word in group.items()} for name, group in WORDS.items()}
    names = {probe.name: probe.title for probe in probes}
    return {
        "sheet": {probe.name: probe.holds for probe in probes},
        "keyboards": {name: str(word) for name, word in KEYBOARDS.items()},
        "words": {**said, **said["loose"], "names": names, "findings": findings},
    }
