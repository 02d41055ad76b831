"""Every word that the counter's script says, in the language of the page."""

from typing import Any

from django.utils.translation import gettext_lazy

CONDITIONS = ("stop_use", "mend_overdue", "cleaning_due", "inspection_due", "disease_flag")
"""Codes of which the book itself says why, since when and what to do."""

# Code of a refusal -> the few big words, why, and what to do instead. Without words here: what the book itself says.
REFUSED: dict[str, tuple[Any, Any, Any]] = {
    "not_a_code": (
        gettext_lazy("Not one of ours"),
        gettext_lazy("What was scanned is no code of this book."),
        gettext_lazy("Scan the label again, or type the letters and digits printed on it."),
    ),
    "wrong_check": (
        gettext_lazy("Misread"),
        gettext_lazy("The last character does not fit the rest."),
        gettext_lazy("Scan it again, or type it from the label."),
    ),
    "unknown_item": (
        gettext_lazy("Not in the book"),
        gettext_lazy("No item wears this code."),
        gettext_lazy("Set it aside and register it later. Give another."),
    ),
    "unknown_picker": (
        gettext_lazy("Card not in use"),
        gettext_lazy("Nobody has this card today."),
        gettext_lazy("Find the picker by name below."),
    ),
    "unknown_crew": (
        gettext_lazy("No such crew"),
        "",
        gettext_lazy("Check the tag, or find one of the crew by name below."),
    ),
    "dead_card": (
        gettext_lazy("A dead card"),
        gettext_lazy("It was reported lost and replaced."),
        gettext_lazy("Keep the card here. Find the picker by name below."),
    ),
    "picker_left": (
        gettext_lazy("%(who)s has left"),
        gettext_lazy("By the book this picker is in no crew."),
        gettext_lazy("Put them into a crew on the crews page first."),
    ),
    "already_out": (
        gettext_lazy("Out to %(from)s"),
        gettext_lazy("By the book it has not come back."),
        gettext_lazy("To move it to %(who)s, scan “Change of hands”. Otherwise give another."),
    ),
    "already_theirs": (
        gettext_lazy("%(who)s has it already"),
        "",
        gettext_lazy("Nothing to do. Go on with the next piece."),
    ),
    "out_to_nobody": (
        gettext_lazy("It is already out"),
        gettext_lazy("Whoever has it holds no card today."),
        gettext_lazy("Scan “Take back” and the item, then hand it out again."),
    ),
    "other_store": (
        gettext_lazy("Of store %(store)s"),
        gettext_lazy("It belongs to another store."),
        gettext_lazy("Give another, or have it moved to this store first."),
    ),
    "missing": (
        gettext_lazy("Marked missing"),
        "",
        gettext_lazy("Scan “Take back” and the item: then it is found."),
    ),
    "written_off": (
        gettext_lazy("Written off"),
        gettext_lazy("It must not go out again."),
        gettext_lazy("Set it aside. Give another."),
    ),
    "not_out": (
        gettext_lazy("It was not out"),
        gettext_lazy("By the book it lies in store %(store)s."),
        gettext_lazy("Put it in its place."),
    ),
    "no_right": (
        gettext_lazy("Not yours to do"),
        "",
        gettext_lazy("Ask someone whose work it is."),
    ),
    "not_reversible": (
        gettext_lazy("Cannot be undone"),
        "",
        gettext_lazy("It was undone already, or is not yet in the book."),
    ),
    "no_holder": (
        gettext_lazy("For whom?"),
        "",
        gettext_lazy("Scan a badge or a crew's tag first, or find the picker by name below."),
    ),
    "set_back": (
        gettext_lazy("Piece by piece, please"),
        gettext_lazy("A set comes back piece by piece, so that none is overlooked."),
        gettext_lazy("Scan each piece. The set is packed anew for tomorrow."),
    ),
    "unreadable": (gettext_lazy("Not recorded"), "", gettext_lazy("Scan it again.")),
    "fault": (
        gettext_lazy("Something went wrong here"),
        "",
        gettext_lazy("Scan it again. If it happens twice, load the page again."),
    ),
    "set_empty": (
        gettext_lazy("An empty set"),
        gettext_lazy("By the book nothing is packed in it."),
        gettext_lazy("Scan the pieces one by one."),
    ),
    "nothing_to_undo": (
        gettext_lazy("Nothing to undo"),
        "",
        gettext_lazy("Nothing was recorded here before."),
    ),
    "nothing_to_move": (
        gettext_lazy("Nothing to move"),
        "",
        gettext_lazy("Scan the badge, then the item that is out to someone else, then “Change of hands”."),
    ),
    "nothing_to_waive": (gettext_lazy("Nothing to waive"), "", gettext_lazy("Nothing required is missing.")),
    "waive_needs_picker": (gettext_lazy("Waive for whom?"), "", gettext_lazy("Scan a picker's badge first.")),
    "kit_not_known": (
        gettext_lazy("Kit not known"),
        gettext_lazy("The line to the book is cut."),
        gettext_lazy("Go on handing out. Waive it when the line is back."),
    ),
    "which_crew": (
        gettext_lazy("Which crew?"),
        "",
        gettext_lazy("Take back one piece of theirs first, or scan the crew's tag."),
    ),
    "only_taking_back": (
        gettext_lazy("Only when taking back"),
        "",
        gettext_lazy("Scan “Take back” first."),
    ),
    "needs_the_book": (
        gettext_lazy("Not without the book"),
        gettext_lazy("The line to the book is cut: a card cannot be lent now."),
        gettext_lazy("Note name and gear on paper, or wait for the line."),
    ),
    "no_such_tag": (
        gettext_lazy("Unknown counter tag"),
        "",
        gettext_lazy("Print the page of counter tags again."),
    ),
    **dict.fromkeys(CONDITIONS, (gettext_lazy("Stays here"), "", gettext_lazy("Give another."))),
    "which_piece": (gettext_lazy("Which piece?"), "", gettext_lazy("Scan the piece first, then this tag.")),
    "not_its_fault": (
        gettext_lazy("Not on a piece like this"),
        gettext_lazy("“%(fault)s” is no fault of this kind of gear."),
        gettext_lazy("Scan the tag of another fault, or press “Set this piece aside” and choose."),
    ),
    "no_check": (
        gettext_lazy("No short check"),
        gettext_lazy("Nothing asks for a daily look at this kind of gear that yes and no would answer."),
        gettext_lazy("Nothing was written down. Its own page has all its checks."),
    ),
    "nothing_to_let_go": (
        gettext_lazy("Nothing to let go"),
        "",
        gettext_lazy("Scan the badge, then the piece that stays here, then “Let it go all the same”."),
    ),
    "may_not_let_go": (gettext_lazy("It stays here"), "", gettext_lazy("Set it aside. Give another.")),
    "card_not_free": (gettext_lazy("Card not free"), "", gettext_lazy("Take another day card.")),
    "not_added": (gettext_lazy("Not added"), "", gettext_lazy("Give a name and choose a crew.")),
    "cannot_keep": (
        gettext_lazy("Not written down"),
        gettext_lazy("The line is cut, and this browser can keep no more."),
        gettext_lazy("Write it on paper."),
    ),
}

WORDS: dict[str, Any] = {
    "out": gettext_lazy("Handing out"),
    "back": gettext_lazy("Taking back"),
    "is_wet": gettext_lazy("%(crew)s came back wet"),
    "given": gettext_lazy("%(kind)s for %(who)s"),
    "shared": gettext_lazy("shared gear of the crew"),
    "for": gettext_lazy("for %(who)s"),
    "given_set": gettext_lazy("Set for %(who)s"),
    "given_part": gettext_lazy("Set for %(who)s, not whole"),
    "pieces": gettext_lazy("pieces: %(count)s"),
    "give_instead": gettext_lazy("Give another for each of these."),
    "stays": gettext_lazy("%(tag)s %(kind)s stays here: %(why)s"),
    "moved": gettext_lazy("%(kind)s: from %(from)s to %(who)s"),
    "wrong_size": gettext_lazy("Not this picker's size or hand."),
    "to_give": gettext_lazy("To give: %(what)s"),
    "complete": gettext_lazy("Kit is complete."),
    "is_complete": gettext_lazy("%(who)s is complete"),
    "not_complete": gettext_lazy("%(who)s is not complete"),
    "still_to_give": gettext_lazy("Still to give: %(what)s"),
    "now": gettext_lazy("Now: %(who)s"),
    "waived": gettext_lazy("%(kind)s waived for %(who)s"),
    "waive_which": gettext_lazy("Go without which?"),
    "waive_how": gettext_lazy("Press the number. The tag again takes the first."),
    "waive_note": gettext_lazy("by the storeman's word"),
    "returned": gettext_lazy("Back: %(kind)s"),
    "was_with": gettext_lazy("from %(who)s"),
    "for_drying": gettext_lazy("Wet: hang it up to dry."),
    "owes": gettext_lazy("%(who)s still owes %(count)s: %(what)s"),
    "owes_nothing": gettext_lazy("%(who)s: everything is back."),
    "owes_of": gettext_lazy("What %(who)s owes"),
    "wet_on": gettext_lazy("%(crew)s came back wet"),
    "wet_before": gettext_lazy("Taken back before and marked too: %(count)s"),
    "wet_from_now": gettext_lazy(
        "Whatever comes back from them is marked for drying until you scan the tag again."
    ),
    "wet_off": gettext_lazy("%(crew)s: dry again from now on"),
    "undone": gettext_lazy("Undone"),
    "ready_out": gettext_lazy("Scan a badge"),
    "ready_back": gettext_lazy("Scan what comes back"),
    "ready_back_how": gettext_lazy("In any order. No badge is needed."),
    "noted": gettext_lazy("Written down, not checked"),
    "noted_person": gettext_lazy(
        "The line is cut. Scan on: all of it is kept and goes to the book by itself."
    ),
    "not_on_list": gettext_lazy("This counter does not know the card; it is written down as scanned."),
    "for_whom": gettext_lazy("A day card: for whom?"),
    "for_whom_how": gettext_lazy("Type a name, crew or number, choose with the arrows, press Enter."),
    "blank_card": gettext_lazy("A blank day card"),
    "scan_card": gettext_lazy("Scan a blank day card for %(who)s"),
    "scan_card_how": gettext_lazy("It is lent for today."),
    "no_card": gettext_lazy("%(who)s has no card today."),
    "new_picker": gettext_lazy("Someone new: “%(name)s”"),
    "found_none": gettext_lazy("Nobody found"),
    "found_some": gettext_lazy("Found: %(count)s"),
    "checking": gettext_lazy("Being checked: %(count)s"),
    "line_on": gettext_lazy("Every scan is in the book."),
    "line_off": gettext_lazy(
        "No line to the book. Scans that wait: %(count)s. They go by themselves when the line is back."
    ),
    "line_full": gettext_lazy(
        "The server's disk is full: it takes in nothing. Scans that wait: %(count)s. Tell whoever looks after the "
        "server to make room; then they go by themselves."
    ),
    "line_signed_out": gettext_lazy(
        "You are signed out. Scans that wait: %(count)s. Sign in again and they go."
    ),
    "line_others": gettext_lazy(
        "Scans by %(who)s wait here: %(count)s. They go when %(who)s signs in at this counter."
    ),
    "queued_refused": gettext_lazy("A queued scan could not be placed and is kept for the office: %(say)s"),
    "queued_contested": gettext_lazy("A queued scan contradicts the book and waits to be settled: %(tag)s"),
    "line_back": gettext_lazy("All of it is in the book"),
    "line_back_how": gettext_lazy("The line is back. Go on."),
    "now_in_book": gettext_lazy("now in the book"),
    "take_instead": gettext_lazy("Take %(tag)s instead."),
    "none_instead": gettext_lazy("No other fit one of this kind, size and hand lies here."),
    "what_is_wrong": gettext_lazy("What is wrong with it?"),
    "fault_how": gettext_lazy("Press the number, or scan the tag of the fault."),
    "wrong_with": gettext_lazy("Something wrong with %(tag)s?"),
    "more_faults": gettext_lazy("more"),
    "lay_aside": gettext_lazy("Lay it aside"),
    "kept_here": gettext_lazy("The book keeps it here until that is done."),
    "fault_too": gettext_lazy("A fault as well? Press its number, or scan its tag."),
    "on_the_bench": gettext_lazy("On the bench"),
    "known_fault": gettext_lazy("The book knows its fault already. Lay it with what is to be mended."),
    "fault_noted": gettext_lazy("Written down: %(fault)s"),
    "for_mender": gettext_lazy("Set aside: lay it with what is to be mended."),
    "for_washing": gettext_lazy("Lay it with what is to be washed."),
    "may_go_on": gettext_lazy("It may still go out. The mender is told."),
    "all_good": gettext_lazy("Looked over: all good"),
    "scan_again": gettext_lazy("Scan it again to hand it out."),
    "let_it_go": gettext_lazy("Let it go?"),
    "why_let_go": gettext_lazy("Why may %(tag)s go out all the same?"),
    "why_how": gettext_lazy("Type why below and press Enter. It is written down with your name."),
    "let_go": gettext_lazy("Let go: %(kind)s for %(who)s"),
}
