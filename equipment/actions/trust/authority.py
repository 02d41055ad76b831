"""The farm's own certificate authority (RFC 5280), which can vouch for a farm's network and for nothing else.

Whoever steals its key can pretend to be this machine to the phones that trust it, and no bank: its name constraints
(section 4.2.1.10) allow names of local networks and private addresses only.
"""

import ipaddress
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from equipment.actions.trust import keeping
from equipment.actions.trust.names import Names, Network

# A phone is told once; a machine in a shed lasts about as long.
YEARS = 10
DAY = timedelta(days=1)
# Names that no public authority vouches for: RFC 6762, RFC 8375, RFC 6761, and what routers use.
LOCAL = ("local", "home.arpa", "localhost", "internal", "lan", "home")
# Private, shared and loopback addresses: RFC 1918, RFC 6598, RFC 4193, RFC 1122, RFC 4291.
PRIVATE = tuple(
    map(
        ipaddress.ip_network,
        "10.0.0.0/8 172.16.0.0/12 192.168.0.0/16 100.64.0.0/10 127.0.0.0/8 fc00::/7 ::1/128".split(),
    )
)


class ClockIsWrong(Exception):
    """The authority was made after now: with this clock no certificate would hold. The message says so."""


@dataclass(frozen=True)
class Authority:
    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    def fingerprint(self) -> str:
        return fingerprint(self.certificate)

    def can_vouch_for(self, names: Names) -> Names:
        """Those of `names` that its constraints allow."""
        limits = self.certificate.extensions.get_extension_for_class(x509.NameConstraints).value
        allowed = [subtree.value for subtree in limits.permitted_subtrees or ()]
        domains = [value for value in allowed if isinstance(value, str)]
        networks = [value for value in allowed if not isinstance(value, str)]
        return Names(
            tuple(name for name in names.dns if any(lies_in(name, domain) for domain in domains)),
            tuple(ip for ip in names.addresses if any(ip in network for network in networks)),
        )


def lies_in(name: str, domain: str) -> bool:
    return name == domain or name.endswith(f".{domain}")


def fingerprint(certificate: x509.Certificate) -> str:
    """SHA-256, in pairs of hex digits, as phones show it."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def open_authority(folder: Path, farm: str, names: Names, at: datetime) -> tuple[Authority, bool]:
    """The farm's authority, and whether it was made just now: where there is none, or its time is over.

    It will be able to vouch for local names, private addresses, and `names`. Raises ClockIsWrong.
    """
    if kept := read(folder):
        if at < kept.certificate.not_valid_before_utc:
            raise ClockIsWrong
        if at < kept.certificate.not_valid_after_utc:
            return kept, False
    made = make(farm, names, at)
    keeping.write(folder / "authority.pem", keeping.pem(made.key) + certificate_pem(made.certificate))
    return made, True


def read(folder: Path) -> Authority | None:
    """What was made before; None where nothing was, or it cannot be read whole."""
    try:
        text = (folder / "authority.pem").read_bytes()
        key = serialization.load_pem_private_key(text, None)
        certificate = x509.load_pem_x509_certificate(text)
    except (OSError, ValueError):
        return None
    return Authority(certificate, key) if isinstance(key, ec.EllipticCurvePrivateKey) else None


def make(farm: str, names: Names, at: datetime) -> Authority:
    key = ec.generate_private_key(ec.SECP256R1())
    # Told apart by the day where a phone trusts an older one as well. At most 64 characters (RFC 5280, ub-common-name).
    subject = x509.Name(
        [x509.NameAttribute(NameOID.COMMON_NAME, f"Shedbook {at:%Y-%m-%d} {farm}"[:64].strip())]
    )
    builder = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(at - DAY)
        .not_valid_after(at + YEARS * 365 * DAY)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(keeping.usage(key_cert_sign=True, crl_sign=True), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(x509.NameConstraints(permitted(names), None), critical=True)
    )
    return Authority(builder.sign(key, hashes.SHA256()), key)


def permitted(names: Names) -> list[x509.GeneralName]:
    networks: dict[Network, None] = dict.fromkeys(PRIVATE)
    networks |= {
        ipaddress.ip_network(address): None
        for address in names.addresses
        if not any(address in network for network in PRIVATE)
    }
    return [
        *(x509.DNSName(name) for name in dict.fromkeys((*LOCAL, *names.dns))),
        *(x509.IPAddress(network) for network in networks),
    ]


def certificate_pem(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(serialization.Encoding.PEM)
