"""The packages that are really here, of those that Shedbook asks for: itself, what it requires, what that requires."""

from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import Distribution, PackageNotFoundError, distribution

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

CLASSIFIER = "License :: "


@dataclass(frozen=True)
class Package:
    """An installed package: canonical name, version, licences in its own words, canonical names of what it requires."""

    name: str
    version: str
    licences: tuple[str, ...]
    requires: tuple[str, ...]


def installed(root: str = "shedbook") -> dict[str, Package]:
    """By name, the root first. What is required and is not here is left out: pip would say so as well."""
    found: dict[str, Package] = {}
    seen: set[tuple[str, str]] = set()
    waiting = [(root, "")]
    while waiting:
        name, extra = waiting.pop(0)
        if (name, extra) in seen:
            continue
        seen.add((name, extra))
        try:
            here = distribution(name)
        except PackageNotFoundError:
            continue
        asked = list(required(here, extra))
        before = found[name].requires if name in found else ()
        names = {canonicalize_name(each.name) for each in asked}
        found[name] = Package(name, here.version, licences(here), tuple(sorted({*before, *names})))
        waiting += [
            (canonicalize_name(each.name), which) for each in asked for which in ("", *sorted(each.extras))
        ]
    return {
        name: Package(each.name, each.version, each.licences, tuple(n for n in each.requires if n in found))
        for name, each in found.items()
    }


def required(here: Distribution, extra: str) -> Iterator[Requirement]:
    """What a package requires on this machine, for one of its extras ("": for none)."""
    for line in here.requires or ():
        asked = Requirement(line)
        if asked.marker is None or asked.marker.evaluate({"extra": extra}):
            yield asked


def licences(here: Distribution) -> tuple[str, ...]:
    """An SPDX expression where the package has one, else its classifiers, else a line of its licence's name."""
    about = here.metadata
    if expression := about.get("License-Expression"):
        return (expression,)
    named = [each.rpartition(" :: ")[2] for each in about.get_all("Classifier", []) if CLASSIFIER in each]
    if named:
        return tuple(sorted(set(named)))
    lines = (about.get("License") or "").strip().splitlines()
    return (lines[0],) if lines else ()
