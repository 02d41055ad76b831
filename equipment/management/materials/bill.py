"""The bill of materials, in CycloneDX: what is installed, beside what was locked, and the decoder of the orchard page.

Each package has its `purl` and, where it is the version of the lock, the SHA-256 of every file of that release.
CycloneDX 1.6: https://cyclonedx.org/docs/1.6/json/.
"""

import base64
import json
from collections.abc import Iterable
from pathlib import Path

from cyclonedx.contrib.license.factories import LicenseFactory
from cyclonedx.model import ExternalReference, ExternalReferenceType, HashAlgorithm, HashType, Property, XsUri
from cyclonedx.model.bom import Bom
from cyclonedx.model.component import Component, ComponentScope, ComponentType
from cyclonedx.model.license import License
from cyclonedx.output import make_outputter
from cyclonedx.schema import OutputFormat, SchemaVersion
from packageurl import PackageURL

from equipment.management import decoder
from equipment.management.materials.installed import Package, installed
from equipment.management.materials.locked import LOCK, Locked, locked

VERSION = SchemaVersion.V1_6
MODULES = "node_modules/"


def bill(lock: Path = LOCK) -> Bom:
    """All of it. Raises OSError where a lock cannot be read."""
    packages, pinned = installed(), locked(lock)
    parts = {name: part_of(package, pinned.get(name)) for name, package in packages.items()}
    farm = parts["shedbook"]
    whole = Bom(components=[part for part in parts.values() if part is not farm])
    whole.metadata.component = farm
    for name, package in packages.items():
        whole.register_dependency(parts[name], [parts[each] for each in package.requires])
    for part in decoder_parts():
        whole.components.add(part)
        whole.register_dependency(farm, [part])
    return whole


def written(whole: Bom) -> str:
    """As JSON."""
    return make_outputter(whole, OutputFormat.JSON, VERSION).output_as_string(indent=2)


def other_than_locked(lock: Path = LOCK) -> list[str]:
    """What is installed at another version than the lock's, or without being in it, as `name version`."""
    pinned = locked(lock)
    return [
        f"{name} {package.version}"
        for name, package in installed().items()
        if name != "shedbook" and (name not in pinned or pinned[name].version != package.version)
    ]


def part_of(package: Package, pin: Locked | None) -> Component:
    """A package of Python."""
    purl = PackageURL("pypi", name=package.name, version=package.version)
    same = pin is not None and pin.version == package.version
    part = Component(
        type=ComponentType.APPLICATION if package.name == "shedbook" else ComponentType.LIBRARY,
        name=package.name,
        version=package.version,
        purl=purl,
        bom_ref=str(purl),
        licenses=licences(package.licences),
        external_references=[release(purl, pin.digests)] if pin and same else (),
    )
    if package.name != "shedbook":
        part.properties.add(Property(name="shedbook:as-locked", value=str(same).lower()))
    return part


def release(purl: PackageURL, digests: Iterable[str]) -> ExternalReference:
    """The files of a release, wherever they are had from: hence the purl for an address."""
    return ExternalReference(
        type=ExternalReferenceType.DISTRIBUTION,
        url=XsUri(str(purl)),
        hashes=[HashType(alg=HashAlgorithm.SHA_256, content=digest) for digest in digests],
    )


def licences(words: tuple[str, ...]) -> list[License]:
    """An SPDX id or expression where the word is one, else the bare name."""
    return [LicenseFactory().make_from_string(each) for each in words]


def decoder_parts() -> list[Component]:
    """What npm fetches, with the digests that npm checks; of what is served, each file with its own."""
    listed = json.loads((decoder.SOURCES / "package-lock.json").read_text())["packages"]
    return [npm_part(path.removeprefix(MODULES), about) for path, about in listed.items() if path]


def npm_part(name: str, about: dict[str, str]) -> Component:
    group, _, short = name.rpartition("/")
    files = [each for each in decoder.files() if each.source.startswith(f"{name}/")]
    purl = PackageURL("npm", namespace=group or None, name=short, version=about["version"])
    return Component(
        type=ComponentType.LIBRARY,
        group=group or None,
        name=short,
        version=about["version"],
        purl=purl,
        bom_ref=str(purl),
        scope=ComponentScope.REQUIRED if files else ComponentScope.EXCLUDED,
        licenses=licences((about["license"],)),
        hashes=[
            HashType(alg=HashAlgorithm.SHA_512, content=hexed(about["integrity"].removeprefix("sha512-")))
        ],
        components=[file_part(each) for each in files],
    )


def file_part(file: decoder.File) -> Component:
    return Component(
        type=ComponentType.FILE,
        name=file.source,
        bom_ref=f"decoder/{file.name}",
        hashes=[HashType(alg=HashAlgorithm.SHA_256, content=file.sha256)],
    )


def hexed(integrity: str) -> str:
    """npm writes base64, CycloneDX hex."""
    return base64.b64decode(integrity, validate=True).hex()
