"""What is said of a scanner. Its own manual has the settings as symbols to scan, under the words in “…”."""

from django.utils.translation import gettext_lazy as _

KEYBOARDS = {
    "us": _("English (United States)"),
    "de": _("German"),
    "fr": _("French"),
    "be": _("Belgian"),
    "es": _("Spanish"),
    "pt": _("Portuguese"),
    "br": _("Brazilian"),
    "it": _("Italian"),
    "cz": _("Czech"),
    "ch": _("Swiss German"),
    "dvorak": _("Dvorak"),
}

WORDS = {
    "levels": {
        "good": _("Arrives as printed"),
        "wants": _("Works, but set something"),
        "unknown": _("Not known"),
        "stops": _("Tags will be refused"),
    },
    "matters": {
        "stops": _("Tags will be refused until this is set."),
        "unknown": _("Nothing can be told from it."),
        "wants": _("The counter copes with it; other pages may not."),
        "harmless": _("Harmless: every page reads tags all the same."),
    },
    "keys": {"Enter": _("Enter"), "Tab": _("Tab"), " ": _("blank"), "Dead": "◌"},
    "loose": {"gap": _("%(ms)s ms")},
}

# By the code that the script finds: what is wrong, and what to do about it.
FINDINGS = {
    "layout": (
        _("The keyboards differ: the scanner types for %(scanner)s, the computer listens for %(computer)s."),
        _(
            "In the scanner's manual find “keyboard layout”, “keyboard country” or “country code”, and "
            "scan the setting of the computer's own keyboard. Or change the computer's keyboard in its "
            "settings."
        ),
    ),
    "unknown_layout": (
        _("The keyboards differ; which they are cannot be told. What came instead: %(text)s"),
        _(
            "In the scanner's manual find “keyboard layout”, “keyboard country” or “country code”, and "
            "scan the setting of the computer's own keyboard. Where the manual lacks it, set both, "
            "scanner and computer, to English (United States)."
        ),
    ),
    "caps_lock": (
        _("Capitals arrive as small letters: Caps Lock is on."),
        _(
            "Press Caps Lock once. Where it must stay on: “Caps Lock on” or “auto detect Caps Lock” in "
            "the scanner's manual."
        ),
    ),
    "lower": (
        _("The scanner turns capitals into small letters."),
        _("In the scanner's manual: “case conversion”, none."),
    ),
    "upper": (
        _("The scanner turns small letters into capitals."),
        _("In the scanner's manual: “case conversion”, none."),
    ),
    "aim": (
        _("The scanner sends the sort of symbol in front: %(text)s (an AIM identifier)."),
        _("In the scanner's manual: “AIM ID” or “symbology identifier”, do not transmit."),
    ),
    "prefix": (
        _("Something comes before the tag: %(text)s"),
        _("In the scanner's manual: “prefix” or “preamble”, clear or remove all."),
    ),
    "suffix": (
        _("Something comes after the tag: %(text)s"),
        _("In the scanner's manual: “suffix” or “postamble”, clear all; then “add Enter suffix”."),
    ),
    "control": (
        _(
            "The scanner presses keys with Ctrl in between: %(text)s. These are marks such as STX, which "
            "begins a message (Ctrl+B). Browsers take them for their own short cuts."
        ),
        _(
            "In the scanner's manual: “STX and ETX”, do not transmit; “prefix” and “suffix”, clear all; "
            "“control characters”, off."
        ),
    ),
    "control_end": (
        _("A scan ends with %(text)s. Browsers take that for their own short cut."),
        _(
            "In the scanner's manual: “suffix” or “terminator”, Enter (carriage return, CR); and none "
            "with line feed (LF)."
        ),
    ),
    "no_end": (
        _("Nothing comes after a scan, no Enter."),
        _("In the scanner's manual: “add Enter suffix”, “terminator CR” or “carriage return”, on."),
    ),
    "tab_end": (
        _("A scan ends with Tab instead of Enter."),
        _("In the scanner's manual: “suffix” or “terminator”, Enter (carriage return, CR) instead of Tab."),
    ),
    "two_ends": (
        _("A scan ends twice. The second Enter may press a button."),
        _("In the scanner's manual: “suffix” or “terminator”, Enter only once (CR, not CR and LF)."),
    ),
    "slow": (
        _("It is typed slowly: %(ms)s ms from key to key. Was it typed by hand?"),
        _("In the scanner's manual: “inter-character delay” or “keystroke delay”, none or the least."),
    ),
    "split": (
        _("It halts on the way, once for %(ms)s ms. The pages may take that for the end of the scan."),
        _(
            "A busy computer, a hub or a weak radio link: plug the scanner into the computer itself, or "
            "bring its base nearer; charge it. In its manual: “inter-character delay”, the least."
        ),
    ),
    "doubled": (
        _("Characters come twice: %(text)s"),
        _(
            "Two programs or two settings may type the same scan: end the other one. In the scanner's "
            "manual: “inter-character delay”, a little longer, such as 5 ms."
        ),
    ),
    "lost": (
        _("Characters are lost: %(text)s"),
        _(
            "The scanner is too fast for the computer: in its manual “inter-character delay” or "
            "“keystroke delay”, a little longer, such as 10 ms."
        ),
    ),
    "cut_off": (
        _("Only the beginning arrived."),
        _(
            "The scanner halted for long, or cuts scans short: in its manual “maximum length”, none, and "
            "“inter-character delay”, the least. Then scan it again."
        ),
    ),
    "alt_codes": (
        _("Each character comes as Alt and a number. The pages do not hear that."),
        _(
            "In the scanner's manual: “ALT mode”, “universal keyboard” or “keypad emulation”, off; then "
            "set its keyboard country to that of the computer."
        ),
    ),
    "not_the_sheet": (
        _("That was no symbol of the page, or it came too garbled to be known."),
        _("Scan a symbol of the printed page. If you did: begin with the first one."),
    ),
}
