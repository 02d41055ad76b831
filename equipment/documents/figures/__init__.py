"""The figures: what the book tells about spares, lifetimes, money and stock, in sentences, tables and drawings.

A page of figures has a name: `spares`, `lifetimes`, `costs`, `purchases`, and `lifetimes-KIND` for each kind.
"""

from equipment.documents.figures.base import Around, Figure, around
from equipment.documents.figures.kept import read
from equipment.documents.figures.page import OF_A_KIND, PAGES, Page, page_of

__all__ = ["OF_A_KIND", "PAGES", "Around", "Figure", "Page", "around", "page_of", "read"]
