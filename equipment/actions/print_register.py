"""Print a register: what was asked, as of which heads, and the digest of its lines are kept, so that the very same
can be made again, and the paper be held against the book."""

import hashlib
from collections.abc import Iterable, Iterator
from datetime import datetime

from django.utils.translation import gettext as _

from crews.models import User
from equipment.domain import chain
from equipment.domain.words import gettext_noop
from equipment.models import Printing
from equipment.models.registers import REGISTERS, Asked, Heads, Line, Register, heads_to_read

NEEDED = {
    "picker": gettext_noop("Choose a picker: this register is of one person."),
    "tag": gettext_noop("Choose a piece: this register is of one piece. Scan its tag, or type it."),
    "kind": gettext_noop("Choose a kind: this register is of one kind of gear."),
    "crew": gettext_noop("Choose a crew: this register is of one crew."),
    "block": gettext_noop("Choose a block: this register is of one block."),
    "store": gettext_noop("Choose a store: this register is of one store."),
}


def print_register(
    register: Register, asked: Asked, form: str, by: User | None, at: datetime, heads: Heads | None = None
) -> Printing:
    """Keep what is about to be printed, of the book as it stands where it is read (or at `heads`). `by` None: the
    server.

    The lines are read once here, for their digest, and once more by whoever writes them (`lines_of`): nothing is held
    in memory in between. Raises ValueError where the register needs to know more, such as whose gear card it is.
    """
    check(register, asked)
    heads = heads_to_read() if heads is None else heads
    count, hexed = digest(register, asked, heads)
    return Printing.objects.create(
        register=register.name,
        version=register.version,
        asked=asked.plain(),
        heads={store: [position, seal] for store, (position, seal) in heads.items()},
        lines=count,
        digest=hexed,
        form=form,
        by=by,
        at=at,
    )


def check(register: Register, asked: Asked) -> None:
    """Raises ValueError, with a sentence for a person, where the register cannot do without what was not asked."""
    for name, sentence in NEEDED.items():
        if name in register.needs and not getattr(asked, name):
            raise ValueError(_(sentence))


def lines_of(printing: Printing) -> Iterator[Line]:
    """The lines of a printing as of its heads: those that were printed, however much was recorded since."""
    return REGISTERS[printing.register].read(printing.what, printing.at_heads)


def count(register: Register, asked: Asked, heads: Heads) -> int:
    """How many lines it has. They are read one after the other: as long as printing takes, without the paper."""
    return sum(1 for _line in register.read(asked, heads))


def digest(
    register: Register, asked: Asked, heads: Heads, lines: Iterable[Line] | None = None
) -> tuple[int, str]:
    """How many lines, and SHA-256 (hex) over what was asked, the heads and each canonical line, each with a newline
    after it. `lines` are those of the register unless given."""
    sha, number = hashlib.sha256(), 0
    for each in canonical(register, asked, heads, lines):
        sha.update(each + b"\n")
        number += 1
    return number - 2, sha.hexdigest()


def canonical(
    register: Register, asked: Asked, heads: Heads, lines: Iterable[Line] | None = None
) -> Iterator[bytes]:
    """What the digest covers: RFC 8785 JSON of the question, of the heads, and of every line."""
    yield chain.written({"register": register.name, "version": register.version, **asked.plain()})
    yield chain.written({store: [position, seal] for store, (position, seal) in heads.items()})
    for line in register.read(asked, heads) if lines is None else lines:
        yield line.canonical()
