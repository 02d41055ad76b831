"""Orchard blocks, known by their code."""

from django.utils.translation import gettext_lazy as _

from crews.models import Block
from equipment.actions.importing.cells import Hectares, Line, PlaceCode, Words40, Words60, Words80, YesNo
from equipment.actions.importing.kinds import Given, ListKind, differences, save
from equipment.actions.importing.results import Findings

FIELDS = ("name", "crop", "variety", "tall_trees", "hectares", "farm")


class BlockLine(Line):
    code: PlaceCode
    name: Words80 = ""
    crop: Words40
    variety: Words60 = ""
    tall_trees: YesNo = False
    hectares: Hectares | None = None
    farm: Words80 = ""


def compare(given: Given) -> Findings:
    known = Block.objects.in_bulk()
    findings, new, changed = Findings(), [], []
    for line, row in given.lines:
        wanted = {name: getattr(row, name) for name in FIELDS if name in given.columns}
        if (block := known.get(row.code)) is None:
            new.append(Block(code=row.code, **wanted))
            findings.added.append(f"{row.code} {row.name}".strip())
        elif findings.note(line, row.code, differences(block, wanted)):
            save(block, wanted)
            changed.append(block)

    def write() -> None:
        Block.objects.bulk_create(new)
        Block.objects.bulk_update(changed, FIELDS)

    findings.write = write
    return findings


KIND = ListKind(
    name="blocks",
    words=_("Blocks"),
    about=_(
        "One row an orchard block. A block is known again by its code. Tall trees ask for ladders: yes or no."
    ),
    line=BlockLine,
    key=("code",),
    compare=compare,
    sample={"code": "N4", "name": "Skuinsrug", "crop": "lemon", "tall_trees": "yes", "hectares": "7.3"},
)
