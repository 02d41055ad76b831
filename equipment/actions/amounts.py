"""Quantities of counted goods in words: "2.5 litres", "1 piece"."""

from django.utils.formats import number_format
from django.utils.translation import ngettext


def amount(quantity: float, unit: str) -> str:
    """`quantity` in a unit of `Goods.Unit`, in the reader's language; what is no whole number takes the plural."""
    plural = int(quantity) if quantity == int(quantity) else 2
    words = {
        "piece": ngettext("%(n)s piece", "%(n)s pieces", plural),
        "pair": ngettext("%(n)s pair", "%(n)s pairs", plural),
        "roll": ngettext("%(n)s roll", "%(n)s rolls", plural),
        "metre": ngettext("%(n)s metre", "%(n)s metres", plural),
        "litre": ngettext("%(n)s litre", "%(n)s litres", plural),
        "kilogram": ngettext("%(n)s kilogram", "%(n)s kilograms", plural),
    }
    return words.get(unit, "%(n)s") % {"n": number(quantity)}


def number(quantity: float) -> str:
    """Without noughts at its end."""
    text = f"{quantity:.6f}".rstrip("0").rstrip(".")
    return str(number_format(text))
