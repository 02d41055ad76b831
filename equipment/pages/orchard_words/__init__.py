"""Every word that the orchard page's script says, in the language of the page, by its name."""

from django.utils.translation import gettext as _

from equipment.domain.bath import WORDS as IN_BATHS
from equipment.domain.clock import CAUSES
from equipment.domain.gate import WORDS as AT_THE_GATE
from equipment.domain.verbs.emptied import PLACES
from equipment.domain.verbs.stopped import CAUSES as STOPS
from equipment.pages.orchard_words.dipping import DIPPING
from equipment.pages.orchard_words.screens import SCREENS
from equipment.pages.orchard_words.told import TOLD


def words() -> dict[str, str]:
    """Name to words with %(name)s in them. Words of the trade come from where the book has them."""
    own = {name: str(text) for name, text in {**SCREENS, **DIPPING, **TOLD}.items()}
    stops = {code: _(text) for code, text in STOPS.items()}
    return {
        **own,
        **{f"cause_{code}": _(text) for code, text in CAUSES.items()},
        **{f"why_{code}": _(text) for code, text in AT_THE_GATE.items()},
        **{f"against_{code}": _(text) for code, text in IN_BATHS.items()},
        **{f"empty_{code}": _(text) for code, text in PLACES.items()},
        **{f"stop_{code}": text for code, text in stops.items()},
        **{f"ended_{code}": text for code, text in stops.items()},
    }
