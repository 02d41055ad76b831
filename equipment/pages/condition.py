"""The condition of a piece for its page: may it go out, and if not, each reason with what to do and who may let it."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions.wording import reason, who_may
from equipment.pages import told_faults, upkeep
from equipment.pages.acts import HERE, OUT
from equipment.pages.fault_texts import cautions
from equipment.pages.offers import Offer
from equipment.pages.piece import Piece
from equipment.pages.told_faults import ToldFault
from equipment.pages.upkeep import Clock, ToldCleaning, ToldInspection


@dataclass(frozen=True)
class Said:
    """One reason: what it says, and who may let the piece go all the same."""

    say: str
    who: str = ""


@dataclass(frozen=True)
class ToldCondition:
    """`verdict` is "fit", "stays" or "" (gone, or missing with nothing to say), `head` its words."""

    verdict: str
    head: str
    stays: Sequence[Said]
    warns: Sequence[str]
    faults: Sequence[ToldFault]
    clocks: Sequence[Clock]
    inspections: Sequence[ToldInspection]
    cleanings: Sequence[ToldCleaning]
    flags: Sequence[str]
    cautions: Sequence[str]


def told(piece: Piece, user: User, offered: Sequence[Offer] = ()) -> ToldCondition:
    """Five queries at most beside those of the piece itself."""
    params = {"tag": piece.row.tag, "store": piece.row.store_id}
    against = piece.against
    stays = [Said(reason(each, params), who_may(each)) for each in against if each.blocks]
    faults = told_faults.told_faults(piece, told_faults.background([piece]), user, offered)
    verdict, head = verdict_of(piece, bool(stays))
    return ToldCondition(
        verdict=verdict,
        head=head,
        stays=stays,
        warns=[reason(each, params) for each in against if not each.blocks],
        faults=faults,
        clocks=upkeep.clocks(piece),
        inspections=upkeep.inspections(piece, offered),
        cleanings=upkeep.cleanings(piece),
        flags=upkeep.flags(piece),
        cautions=cautions(piece.kind) if faults or stays else (),
    )


def verdict_of(piece: Piece, held: bool) -> tuple[str, str]:
    """A piece that is out cannot go out; of it only is said that it should not be in use."""
    place = piece.row.place
    if place in HERE:
        return ("stays", _("Stays here")) if held else ("fit", _("May go out"))
    if place in OUT and held:
        return "stays", _("Should not be in use")
    return "", ""
