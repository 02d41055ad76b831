"""Registers: 10,000 lines to PDF against the same cells on a bare canvas; growth to 100,000; memory of every form.

Ours reads the book, looks up the names, wraps, rules and marks; bare is `drawString` for each cell, already said, in
the same embedded type, page after page. Memory is that of a process of its own: its highest above what it held when
everything was loaded and a short register had been made.
"""

import gc
import io
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from reportlab.lib.pagesizes import A4, landscape
from reportlab.pdfgen.canvas import Canvas

from tests.benchmarks.report import Report
from tests.benchmarks.timing import alternate

FEW, MANY, ROUNDS = 10_000, 100_000, 5
START = datetime(2025, 5, 5, 3, 30, tzinfo=UTC)
ITEMS, AT_ONCE, A_DAY = 1_000, 5_000, 1_000
LEFT, ACROSS, STEP, TOP, BOTTOM = 28, 110, 20, 540, 90
FORMS = ("pdf", "xlsx", "csv")


def run(report: Report) -> None:
    write_book(MANY)
    rows = said(FEW)
    ours, theirs = alternate(lambda: make("pdf", FEW), lambda: bare(rows), ROUNDS)
    figure = f"lines a second from the book to PDF, {FEW:,}, against the same cells on a bare canvas"
    report.ratio(figure, FEW / ours.median, FEW / theirs.median, unit="/s", at_least=0.4)
    few, many = (min(seconds(count) for _round in range(2)) for count in (FEW, MANY))
    figure = f"processor seconds of {MANY:,} lines to PDF, against {MANY // FEW} times those of {FEW:,}"
    report.ratio(figure, many, few * MANY / FEW, unit="s", at_most=1.2)
    for form in FORMS:
        few, many = (memory(form, count) for count in (FEW, MANY))
        report.limit(f"memory above idle, {FEW:,} lines to {form}", few, unit="MB", at_most=150)
        at_most = 150 if form == "pdf" else 20
        report.limit(f"memory above idle, {MANY:,} lines to {form}", many, unit="MB", at_most=at_most)


def bare(rows: list[list[str]]) -> None:
    """What nobody can do without: the words of each cell, put on a page."""
    canvas = Canvas(io.BytesIO(), pagesize=landscape(A4), pageCompression=1)
    y = TOP
    canvas.setFont("FarmPlain", 8)
    for row in rows:
        if y < BOTTOM:
            canvas.showPage()
            canvas.setFont("FarmPlain", 8)
            y = TOP
        for number, cell in enumerate(row):
            canvas.drawString(LEFT + number * ACROSS, y, cell)
        y -= STEP
    canvas.save()


def make(form: str, count: int) -> None:
    """From the book to a file."""
    from equipment.documents.registers import WRITERS

    with tempfile.TemporaryFile() as file:
        WRITERS[form](facts(count), register().lines(asked(count), heads()), file)


def seconds(count: int) -> float:
    """Of the processor: one long run of minutes and one of seconds do not meet the same neighbours."""
    gc.collect()
    started = time.process_time()
    make("pdf", count)
    return time.process_time() - started


def said(count: int) -> list[list[str]]:
    """The cells of the register in words."""
    from equipment.documents.registers.words import Words, read_by

    words = Words()
    lines = read_by(words, register().lines(asked(count), heads()))
    rows = [[line.where, *map(words.say, line.cells)] for line in lines]
    assert len(rows) == count
    return rows


def memory(form: str, count: int) -> float:
    """Megabytes at most, above idle, of a process that makes it."""
    command = [sys.executable, "-m", "tests.benchmarks.register", form, str(count)]
    out = subprocess.run(command, check=True, capture_output=True, text=True, env=os.environ)
    return float(json.loads(out.stdout))


def register() -> Any:
    """Six columns of everything that a cell may be, and one to sign; the lines are all hand-outs."""
    from equipment.models.registers import Column, Line, Named, Register
    from equipment.models.registers.reading import in_period, standing, where

    def lines(asked: Any, heads: Any) -> Iterator[Any]:
        for some in standing(in_period(asked, heads, "crew").select_related("item"), ["handed_out"], heads):
            for entry in some:
                cells = (
                    entry.happened_at,
                    Named("crew", entry.crew_id),
                    Named("picker", entry.picker_id),
                    Named("kind", entry.item.kind_id),
                    Named("tag", str(entry.item_id)),
                    Named("user", entry.by_id),
                )
                yield Line(entry.pk, entry.happened_at, where(entry), cells)

    names = ("Handed out", "Crew", "Picker", "Kind", "Piece", "By")
    columns = [*(Column(name, name) for name in names), Column("signed", "Signature", sign=True)]
    return Register("handout", "Handout", "", tuple(columns), lines, signatures=("Storeman",), daily=True)


def facts(count: int) -> Any:
    from equipment.documents.registers.facts import Facts

    return Facts(register(), asked(count), heads(), "PR0001K", "0" * 64, count, START)


def asked(count: int) -> Any:
    from equipment.models.registers import Asked

    return Asked(START.date(), START.date() + timedelta(days=count // A_DAY - 1), crew="CWREG")


def heads() -> Any:
    return {"REG": (10**9, "0" * 64)}


def write_book(count: int) -> None:
    """So many hand-outs, A_DAY a day, put into the scratch database around the ledger, for speed."""
    from equipment.actions.writing import new_id
    from equipment.models import Entry, direct

    items, pickers, common = farm()
    for first in range(0, count, AT_ONCE):
        rows = []
        for number in range(first, first + AT_ONCE):
            day, place = divmod(number, A_DAY)
            at = START + timedelta(days=day, seconds=10 * place)
            rows.append(
                common
                | {
                    "id": new_id(),
                    "position": ITEMS + number + 1,
                    "item": items[number % ITEMS],
                    "device_seq": number,
                }
                | {"picker": pickers[number % len(pickers)], "happened_at": at, "recorded_at": at}
            )
        direct.insert(Entry, rows)


def farm() -> tuple[list[Any], list[int], dict[str, Any]]:
    from crews.models import Crew, Device, Picker, Store, User
    from equipment.actions.load_catalogue import load_catalogue
    from equipment.actions.register import Run, register
    from equipment.actions.writing import Pen
    from equipment.models import ItemState, Kind

    load_catalogue()
    store = Store.objects.create(code="REG", name="Register")
    user = User.objects.create(username="register", first_name="Rosa", last_name="Olivier")
    crew = Crew.objects.create(code="CWREG", name="Register crew", store=store)
    names = ("Ana Pérez", "Nguyễn Văn Ánh", "Łukasz Brzęczyszczykiewicz", "Tendai Chikwanha")
    pickers = [Picker.objects.create(number=f"reg {n}", name=f"{names[n % 4]} {n}").pk for n in range(300)]
    device = Device.objects.create(kind=Device.Kind.COUNTER, name="Register", store=store)
    register(Pen(user, store.pk, START), [Run(Kind.objects.get(pk="clippers"), store.pk, ITEMS)])
    items = list(ItemState.objects.filter(store=store).values_list("pk", flat=True))
    common = {"v": 1, "store": store.pk, "verb": "handed_out", "detail": {}, "crew": crew.pk, "by": user.pk}
    return items, pickers, common | {"device": device.pk, "digest": ""}


def measured(form: str, count: int) -> float:
    """In this process: its peak above idle, in megabytes, by the kernel's own count."""
    make(form, A_DAY)
    idle = _status("VmRSS")
    Path("/proc/self/clear_refs").write_text("5")  # the peak begins anew
    make(form, count)
    return (_status("VmHWM") - idle) / 1024


def _status(name: str) -> int:
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith(f"{name}:"))


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    import django

    django.setup()
    print(json.dumps(measured(sys.argv[1], int(sys.argv[2]))))
