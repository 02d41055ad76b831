"""A trace in words: the tree of blocks and pieces with their times, and the path to each as sentences."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from equipment.actions import names
from equipment.actions.trace.running import Found
from equipment.domain.disease_trace import Life, Node, Question
from equipment.domain.whereabouts import Stay

AUTHORITY = gettext_noop(
    "A plant disease may have to be reported: tell the plant health authority first. Its orders, local law and licensed"
    " practice come before this page."
)
OF_GEAR = (
    gettext_noop(
        "Gear is one way among others: insects, grafts, fruit, water, vehicles and people's clothes are not traced"
        " here."
    ),
    gettext_noop(
        "The book knows only what was told to it. A visit that nobody wrote down is not here: look at the blocks"
        " themselves."
    ),
    gettext_noop(
        "Clean by the product's label and its safety sheet: gloves and goggles on, never bleach together with an acid"
        " or ammonia."
    ),
)
"""Left out where gear is no way at all."""


@dataclass
class PieceLine:
    """A piece under the block where it was reached: first at `at`, `times` times altogether. `says` is its first stay
    in words, `then` what came of it; `leads` are the blocks that it took it to."""

    piece: UUID
    tag: str
    kind: str
    at: datetime
    says: str
    then: str
    carrying: bool
    times: int = 1
    leads: list["BlockLine"] = field(default_factory=list)
    went: list[str] = field(default_factory=list)


@dataclass
class BlockLine:
    """A block that was reached at `at`, and the pieces that were reached in it, in order of time."""

    code: str
    at: datetime
    pieces: list[PieceLine] = field(default_factory=list)


def tree(found: Found) -> BlockLine:
    """From the block where it begins to all that was reached, each below what it came by."""
    blocks = {found.question.block: BlockLine(found.question.block, found.question.since)}
    blocks |= {code: BlockLine(code, reach.at) for code, reach in found.blocks}
    lives: dict[tuple[str, UUID], list[Life]] = defaultdict(list)
    for node, reach in found.trace.reached.items():
        if not isinstance(node, str) and isinstance(reach.source, str):
            lives[reach.source, node[0]].append(node)
    lines = {
        key: _piece(found, sorted(own, key=lambda n: found.trace.reached[n].at)) for key, own in lives.items()
    }
    for (block, _piece_id), line in sorted(lines.items(), key=lambda each: (each[1].at, each[1].tag)):
        blocks[block].pieces.append(line)
    for code, reach in found.blocks:
        if reach.source is not None and not isinstance(reach.source, str):
            line = lines[str(found.trace.reached[reach.source].source), reach.source[0]]
            line.leads.append(blocks[code])
            line.went.append(_before(found, reach.source, code))
    return blocks[found.question.block]


def _piece(found: Found, lives: Sequence[Life]) -> PieceLine:
    piece = lives[0][0]
    row, first = found.rows[piece], found.trace.reached[lives[0]]
    return PieceLine(
        piece,
        row.tag,
        _(row.item.kind.name),
        first.at,
        _stay(found, lives[0], tagged=False),
        _end(found, lives[-1]),
        found.trace.carrying(piece),
        len(lives),
    )


def path(found: Found, node: Node) -> list[str]:
    """How it came to a piece's life or to a block, a sentence for each piece on the way, the first one first."""
    way = found.trace.path(node)
    said = []
    for here, following in zip(way[1::2], [*way[2::2], None], strict=False):
        life: Life = here  # type: ignore[assignment]
        stay = _stay(found, life)
        if following is None:
            said.append(_("%(stay)s; %(end)s") % {"stay": stay, "end": _end(found, life)})
        else:
            before = _before(found, life, str(following))
            said.append(_("%(stay)s, %(before)s") % {"stay": stay, "before": before})
    return said


def _before(found: Found, life: Life, block: str) -> str:
    """ "not sterilised before S2 at 12:05"."""
    at = found.trace.reached[block].at
    words = {"cleaned": cleaned_word(found), "block": block, "time": _clock(at), "day": _day(at)}
    if _date(at) == _date(found.trace.reached[life].at):
        return _("not %(cleaned)s before %(block)s at %(time)s") % words
    return _("not %(cleaned)s before %(block)s on %(day)s at %(time)s") % words


def last_life(found: Found, piece: UUID) -> Life:
    """The last life of the piece that was reached."""
    return found.lives[piece][-1]


def _stay(found: Found, life: Life, tagged: bool = True) -> str:
    """ "CL0421 in N4 on 3 June, 09:10 to 11:40"; not `tagged`, the label beside it says which."""
    said = _staying(found, life)
    return _("%(tag)s %(stay)s") % {"tag": found.tag(life[0]), "stay": said} if tagged else said


def _staying(found: Found, life: Life) -> str:
    reach = found.trace.reached[life]
    stay: Stay = reach.stay  # type: ignore[assignment]
    words = {"block": stay.block, "day": _day(reach.at), "from": _clock(reach.at)}
    until = stay.until
    if stay.stowed and until is None:
        return _("left standing in %(block)s since %(day)s, %(from)s") % words
    if until is None:
        return _("in %(block)s on %(day)s from %(from)s, no end told") % words
    words |= {"until": _clock(until), "until_day": _day(until)}
    if stay.stowed:
        said = _("left standing in %(block)s from %(day)s, %(from)s to %(until_day)s, %(until)s")
        return said % words
    if _date(reach.at) != _date(until):
        return _("in %(block)s from %(day)s, %(from)s to %(until_day)s, %(until)s") % words
    return _("in %(block)s on %(day)s, %(from)s to %(until)s") % words


def _end(found: Found, life: Life) -> str:
    """Whether it was cleaned of it since."""
    kills = sorted(found.trace.pieces[life[0]].kills)
    words = {"cleaned": cleaned_word(found)}
    if life[1] >= len(kills):
        return _("not %(cleaned)s since") % words
    at = kills[life[1]]
    return _("%(cleaned)s on %(day)s at %(time)s") % {**words, "day": _day(at), "time": _clock(at)}


def cleaned_word(found: Found) -> str:
    """What ends this disease is a wash, or a bath."""
    return _("washed") if all(way.method == "wash" for way in found.disease.clears) else _("sterilised")


def no_route(found: Found) -> str:
    """Why there is nothing to trace, "" where there is."""
    if found.carried:
        return ""
    disease = names.disease(found.disease.code)
    said = _(
        "Gear does not carry %(disease)s from block to block: there is no route to trace and no piece to call back."
    )
    return said % {"disease": disease}


def nothing_reached(found: Found) -> str:
    """Why no piece was reached, "" where some were."""
    if found.pieces or not found.carried:
        return ""
    words = {"block": found.question.block, "day": _day(found.question.since)}
    if found.visited:
        return _("No carrier was with the crews that visited %(block)s since %(day)s.") % words
    if found.planned:
        crews = ", ".join(crew.name for crew in found.planned)
        said = _(
            "No visit to %(block)s since %(day)s is in the book, though the plan sent these crews: %(crews)s. Ask them."
        )
        return said % {**words, "crews": crews}
    return _("No visit to %(block)s since %(day)s is in the book, and no plan sent a crew there.") % words


def cautions(found: Found) -> list[str]:
    """The disease's own note first."""
    of_gear = OF_GEAR if found.carried else ()
    return [_(found.disease.note), _(AUTHORITY), *(_(sentence) for sentence in of_gear)]


def asked(question: Question) -> str:
    """How the question was put, beside the block and the day."""
    chained = (
        _("passed on only later than it was reached")
        if question.strict
        else _("passed on in the same moment too")
    )
    far = {None: _("followed to the end"), 1: _("followed to the blocks that these pieces went to next")}
    steps = far.get(question.steps) or _("followed over %(n)d blocks in a row") % {"n": question.steps}
    return f"{chained}; {steps}"


def _date(at: datetime) -> object:
    return timezone.localdate(at)


def _day(at: datetime) -> str:
    local = timezone.localtime(at)
    return date_format(local, _("j F") if local.year == timezone.localdate().year else _("j F Y"))


def _clock(at: datetime) -> str:
    return date_format(timezone.localtime(at), "H:i")
