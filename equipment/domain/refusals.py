"""What a refusal says: why, and what to do instead. One sentence pair a code, for gettext, with the parameters
tag, who (a badge or crew code), since and more where a code has more to say."""

from equipment.domain.words import gettext_noop

REFUSALS: dict[str, str] = {
    "other_store": gettext_noop(
        "%(tag)s belongs to store %(store)s. Give another, or move it to this store first."
    ),
    "already_out": gettext_noop(
        "%(tag)s is already out to %(who)s. Scan the change-of-hands tag to move it."
    ),
    "missing": gettext_noop("%(tag)s is marked missing. Take it back or mark it found first."),
    "written_off": gettext_noop("%(tag)s was written off. Set it aside and give another."),
    "wrong_size": gettext_noop("%(tag)s is not this picker's size or hand."),
    "malformed": gettext_noop("This entry cannot be read: %(why)s"),
    "unknown_item": gettext_noop(
        "No item has the code %(tag)s. Check the label, or register the item first."
    ),
    "unknown_picker": gettext_noop(
        "%(who)s is not a card in use today. Find the picker by name, or lend a day card."
    ),
    "unknown_crew": gettext_noop("No crew has the code %(crew)s."),
    "unknown_bath": gettext_noop("No bath has this number."),
    "wrong_check": gettext_noop("%(tag)s was misread. Scan it again, or type it again from the label."),
    "picker_left": gettext_noop("The picker with the card %(who)s has left. Join them to a crew first."),
    "no_right": gettext_noop("You may not do this. Ask someone whose work it is."),
    "id_reused": gettext_noop(
        "This id already stands in the book with other content. Send it under a new id."
    ),
    "not_out": gettext_noop("%(tag)s is not out: nothing to take back."),
    "act_refused": gettext_noop(
        "%(tag)s was not recorded, because another piece of the same act was refused."
    ),
    "not_reversible": gettext_noop("There is no such entry to undo here."),
    "registered_twice": gettext_noop("%(tag)s is registered already."),
    "not_in_crew": gettext_noop("The picker is not in crew %(crew)s."),
}
