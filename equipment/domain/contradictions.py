"""What a discrepancy says: two lines of the book that cannot both be so. For gettext, with the parameter what (the
line that contradicts, told in words)."""

from collections.abc import Mapping

from equipment.domain.words import gettext_noop

CONTRADICTIONS: Mapping[str, str] = {
    "already_out": gettext_noop("“%(what)s” But by the book it was out with somebody at that time."),
    "other_store": gettext_noop("“%(what)s” But by the book it lay in another store."),
    "missing": gettext_noop("“%(what)s” But by the book it was missing."),
    "written_off": gettext_noop("“%(what)s” But by the book it had been written off."),
    "picker_left": gettext_noop("“%(what)s” But by the book that picker was in no crew any more."),
    "not_out": gettext_noop("“%(what)s” But by the book it was not out."),
    "not_in_crew": gettext_noop("“%(what)s” But by the book that picker was not in the crew."),
    "registered_twice": gettext_noop("“%(what)s” But it stands in the book already."),
    "not_faulty": gettext_noop("“%(what)s” But by the book it had no such fault."),
    "not_mended": gettext_noop("“%(what)s” But by the book it had not been mended."),
    "own_mend": gettext_noop("“%(what)s” But who mended it must not be who passes it."),
    "mixed_twice": gettext_noop("“%(what)s” But that bath stands in the book already."),
    "received_twice": gettext_noop("“%(what)s” But that lot stands in the book already."),
    "more_than_left": gettext_noop("“%(what)s” But by the book less than that was left."),
    "not_reversible": gettext_noop("“%(what)s” But what it takes back cannot be taken back."),
}
