"""How many pieces of a lot are to be looked at, and the draw: the lot and the seed are kept, so that anybody can draw
the same pieces again."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from secrets import randbelow
from uuid import UUID

from django.db import IntegrityError
from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions.wording import NotDone
from equipment.domain.audit import ANY, LARGEST_SEED, Question, Sentence, draw, in_order, not_whole, reaching
from equipment.domain.given import BadNumber
from equipment.ledger import writing
from equipment.models import Audit, AuditPiece
from equipment.models.audits import Lot
from equipment.models.rules import whole

AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the officer asks of a lot: whether `faulty` of it, or `share` per cent, can be faulty; one of the two is
    None. `sure` is how sure to be, in per cent."""

    lot: Lot
    sure: Decimal
    faulty: int | None = None
    share: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Planned:
    """What will be looked at. `why_all`: why this kind is never sampled, "" where it is. `left_out` pieces are marked
    missing, `aside` of the lot lie on the bench. `rounded`: which whole number the share means, where it is none."""

    question: Question
    why_all: str
    left_out: int
    aside: int
    rounded: Sentence | None = None


def plan(wanted: Wanted) -> Planned:
    """Raises NotDone where there is nothing to look at, or no such number of pieces."""
    rows = wanted.lot.rows()
    return _planned(wanted, rows.count(), rows.filter(place="bench").count())


def draw_sample(wanted: Wanted, act: UUID, by: User, at: datetime, seed: int | None = None) -> Audit:
    """Draw the pieces at `at` (UTC). `act` makes sending the form twice harmless. `seed`: for tests, else by chance.
    Raises NotDone as `plan` does."""
    known = Audit.objects.filter(act=act).first()
    if known is not None:
        return known
    try:
        with writing():
            return _drawn(wanted, act, by, at, randbelow(LARGEST_SEED + 1) if seed is None else seed)
    except IntegrityError:
        # The same form, sent twice at the same moment.
        return Audit.objects.get(act=act)


def never_sampled(kind: str) -> str:
    """Why every piece of this kind is looked at, for gettext; "" where a sample will do."""
    return next((each.never_sampled for each in whole().kind if each.code == kind), "")


def _drawn(wanted: Wanted, act: UUID, by: User, at: datetime, seed: int) -> Audit:
    rows = list(wanted.lot.rows().values_list("tag", "item", "place"))
    aside = sum(place == "bench" for _tag, _item, place in rows)
    planned = _planned(wanted, len(rows), aside)
    tags = in_order(tag for tag, _item, _place in rows)
    audit = _audit(wanted, planned, act, tags, seed, by, at)
    drawn = tags if planned.why_all else draw(tags, planned.question.sample, seed)
    _put_down(audit, drawn, {tag: item for tag, item, _place in rows})
    return audit


def _planned(wanted: Wanted, count: int, aside: int) -> Planned:
    if not count:
        raise NotDone(_("No piece belongs to this lot now. Ask for less of it, or for another store."))
    why_all = never_sampled(wanted.lot.kind)
    share = None if why_all else wanted.share
    faulty = ANY if why_all else reaching(count, share) if share is not None else wanted.faulty or 0
    question = Question(count, faulty, wanted.sure, every=bool(why_all))
    try:
        question.sample  # noqa: B018 it says whether the numbers can be
    except BadNumber as bad:
        what = {"what": _(str(bad.params.get("what", "")))}
        raise NotDone(_(bad.message) % {**bad.params, **what}) from None
    rounded = not_whole(count, share) if share is not None else None
    return Planned(question, why_all, wanted.lot.missing().count(), aside, rounded)


def _audit(
    wanted: Wanted, planned: Planned, act: UUID, tags: Sequence[str], seed: int, by: User, at: datetime
) -> Audit:
    lot, question = wanted.lot, planned.question
    return Audit.objects.create(
        act=act,
        kind_id=lot.kind,
        store_id=lot.store or None,
        where=lot.where,
        make=lot.make,
        size=lot.size,
        delivery=lot.delivery,
        share=None if planned.why_all else wanted.share,
        faulty=question.faulty,
        sure=question.sure,
        every=question.every,
        lot=list(tags),
        count=question.lot,
        left_out=planned.left_out,
        sample=question.sample,
        seed=seed,
        drawn_by=by,
        drawn_at=at,
    )


def _put_down(audit: Audit, drawn: Sequence[str], items: dict[str, UUID]) -> None:
    AuditPiece.objects.bulk_create(
        [
            AuditPiece(audit=audit, item_id=items[tag], tag=tag, turn=turn)
            for turn, tag in enumerate(drawn, start=1)
        ],
        batch_size=AT_ONCE,
    )
