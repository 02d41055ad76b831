"""The rules as they come with the program, for tests without a database."""

from equipment import catalogue
from equipment.catalogue.rules import assembled, rows

CATALOGUE = catalogue.load()
RULES = assembled(CATALOGUE, {subject: {} for subject in rows(CATALOGUE)}, version=1)
