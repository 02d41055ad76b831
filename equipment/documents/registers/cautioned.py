"""The cautions that a register carries, by topic: the code of a kind of gear (those of whoever handles it) or of an
agent (those of whoever mixes it). What comes before all of them stands last, once."""

from collections.abc import Iterable, Iterator

from django.utils.translation import gettext as _

from equipment import catalogue


def cautions(topics: Iterable[str]) -> list[str]:
    """A paragraph for each topic, which begins with its name: what is true of bleach is not of alcohol. None twice;
    nothing where no topic has any."""
    found = [said for topic in dict.fromkeys(topics) if (said := _paragraph(topic))]
    last = _("The label, the safety sheet, the maker's instructions and local law come before this paper.")
    return [*found, last] if found else []


def _paragraph(topic: str) -> str:
    whole = catalogue.load()
    sentences = " ".join(map(_, _of(topic)))
    name = next((each.name for each in (*whole.kind, *whole.agent) if each.code == topic), topic)
    return _("%(name)s: %(value)s") % {"name": _(name), "value": sentences} if sentences else ""


def _of(topic: str) -> Iterator[str]:
    whole = catalogue.load()
    for caution in whole.caution:
        if topic in caution.kinds:
            yield caution.text
    for agent in whole.agent:
        if topic == agent.code:
            yield from agent.cautions
