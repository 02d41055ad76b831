"""Stores, known by their code."""

from django.utils.translation import gettext_lazy as _

from crews.models import Store
from equipment.actions.importing.cells import Line, PlaceCode, Words80
from equipment.actions.importing.kinds import Given, ListKind, differences, save
from equipment.actions.importing.results import Findings


class StoreLine(Line):
    code: PlaceCode
    name: Words80


def compare(given: Given) -> Findings:
    known = Store.objects.in_bulk()
    findings, new, changed = Findings(), [], []
    for line, row in given.lines:
        if (store := known.get(row.code)) is None:
            new.append(Store(code=row.code, name=row.name))
            findings.added.append(f"{row.code} {row.name}")
        elif findings.note(line, row.code, differences(store, {"name": row.name})):
            save(store, {"name": row.name})
            changed.append(store)

    def write() -> None:
        Store.objects.bulk_create(new)
        Store.objects.bulk_update(changed, ["name"])

    findings.write = write
    return findings


KIND = ListKind(
    name="stores",
    words=_("Stores"),
    about=_("One row a store. A store is known again by its code."),
    line=StoreLine,
    key=("code",),
    compare=compare,
    sample={"code": "HOME", "name": "Home shed"},
)
