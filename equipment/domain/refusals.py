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
    "unknown_lot": gettext_noop("No lot of counted goods has this number."),
    "wrong_check": gettext_noop("%(tag)s was misread. Scan it again, or type it again from the label."),
    "picker_left": gettext_noop("The picker with the card %(who)s has left. Join them to a crew first."),
    "no_right": gettext_noop("You may not do this. Ask someone whose work it is."),
    "id_reused": gettext_noop(
        "This id already stands in the book with other content. Send it under a new id."
    ),
    "not_out": gettext_noop("%(tag)s is not out: nobody has it to give it back or to pass it on."),
    "act_refused": gettext_noop(
        "%(tag)s was not recorded, because another piece of the same act was refused."
    ),
    "not_reversible": gettext_noop("There is no such entry to undo here."),
    "registered_twice": gettext_noop("%(tag)s is registered already."),
    "not_faulty": gettext_noop("%(tag)s has no such fault open: nothing to mend or to pass."),
    "not_mended": gettext_noop("%(tag)s is not mended yet. Write down the mend first."),
    "own_mend": gettext_noop("Who mended %(tag)s does not pass it. Somebody else looks at it and passes it."),
    "mixed_twice": gettext_noop("A bath has this number already. Mix it under a new one."),
    "received_twice": gettext_noop("A lot has this number already. Receive it under a new one."),
    "more_than_left": gettext_noop(
        "That is more than is left of this lot. Count it first, or take another lot."
    ),
    "lot_expired": gettext_noop(
        "This lot is past its date. Do not use it: throw it away, and take another lot."
    ),
    "stop_use": gettext_noop("%(tag)s stays here: a fault stops its use."),
    "mend_overdue": gettext_noop("%(tag)s stays here: a fault was not mended in time."),
    "cleaning_due": gettext_noop("%(tag)s must be cleaned first."),
    "inspection_due": gettext_noop("%(tag)s must be inspected first."),
    "disease_flag": gettext_noop("%(tag)s stays here: it may carry a disease."),
    "too_short": gettext_noop("It does not count: it acted for less than the recipe asks."),
    "dirt_first": gettext_noop("It does not count: dirt must be washed off before a dip."),
    "no_recipe": gettext_noop("It does not count: say in what bath, or by what recipe, it was sterilised."),
    "wrong_recipe": gettext_noop("It does not count: this recipe is not for this kind of gear."),
    "not_mixed": gettext_noop("It does not count: the bath was not mixed yet at that time."),
    "emptied": gettext_noop("It does not count: the bath had been emptied. Mix a new one."),
    "too_weak": gettext_noop("It does not count: the bath was mixed too weak. Test it, or mix a new one."),
    "product_expired": gettext_noop(
        "It does not count: the product was past its date. Test the bath, or mix a new one."
    ),
    "wrong_ph": gettext_noop("It does not count: the pH of the bath is not what its recipe asks for."),
    "too_old": gettext_noop("It does not count: the bath is too old. Mix a new one."),
    "spent": gettext_noop("It does not count: the bath has taken all the pieces that it can. Mix a new one."),
    "test_failed": gettext_noop(
        "It does not count: the bath failed its strength test. Empty it and mix a new one."
    ),
    "not_in_crew": gettext_noop("The picker is not in crew %(crew)s."),
}
