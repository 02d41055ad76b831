"""All verbs of the book, found by looking in this folder: a new verb is one new file and its test."""

from importlib import import_module
from pkgutil import iter_modules

from equipment.domain.verbs._base import Detail, Family, NoDetail, Verb

VERBS: dict[str, Verb] = {
    module.name: import_module(f"{__name__}.{module.name}").VERB
    for module in iter_modules(__path__)
    if not module.name.startswith("_")
}
STEPS = {name: verb.step for name, verb in VERBS.items()}

__all__ = ["STEPS", "VERBS", "Detail", "Family", "NoDetail", "Verb"]
