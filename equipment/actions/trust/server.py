"""This machine's certificate, from the farm's authority: made, and made anew before it stops being right."""

from datetime import datetime
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from equipment.actions.trust import keeping
from equipment.actions.trust.authority import DAY, Authority, certificate_pem
from equipment.actions.trust.names import Names

# Browsers take none that holds longer than 398 days. From a day before, for phones whose clocks are behind.
HOLDS = 396 * DAY
RENEWED_BEFORE = 30 * DAY


def renew(folder: Path, authority: Authority, names: Names, at: datetime) -> Path:
    """The file of key and certificate for `names`, as it is or made anew.

    Anew where there is none, it is another authority's, the names are others, or it holds for less than 30 days more.
    """
    file = folder / "server.pem"
    kept = read(file)
    if kept is None or not is_right(kept, authority, names, at):
        key, certificate = make(authority, names, at)
        keeping.write(file, keeping.pem(key) + certificate_pem(certificate))
    return file


def read(file: Path) -> x509.Certificate | None:
    """None where there is none, or key and certificate do not belong together."""
    try:
        text = file.read_bytes()
        certificate = x509.load_pem_x509_certificate(text)
        key = serialization.load_pem_private_key(text, None)
    except (OSError, ValueError):
        return None
    return certificate if key.public_key() == certificate.public_key() else None


def is_right(certificate: x509.Certificate, authority: Authority, names: Names, at: datetime) -> bool:
    try:
        certificate.verify_directly_issued_by(authority.certificate)
    except (ValueError, TypeError, InvalidSignature):
        return False
    begun = certificate.not_valid_before_utc <= at
    ends = min(certificate.not_valid_after_utc, authority.certificate.not_valid_after_utc)
    lasts = at + RENEWED_BEFORE < ends or ends == authority.certificate.not_valid_after_utc
    return begun and lasts and set(subjects(names)) == set(subjects_of(certificate))


def subjects(names: Names) -> list[x509.GeneralName]:
    return [*map(x509.DNSName, names.dns), *map(x509.IPAddress, names.addresses)]


def subjects_of(certificate: x509.Certificate) -> list[x509.GeneralName]:
    return list(certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value)


def make(
    authority: Authority, names: Names, at: datetime
) -> tuple[ec.EllipticCurvePrivateKey, x509.Certificate]:
    key = ec.generate_private_key(ec.SECP256R1())
    issuer = authority.certificate
    theirs = issuer.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    certificate = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, names.hosts()[0][:64])]))
        .issuer_name(issuer.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(max(at - DAY, issuer.not_valid_before_utc))
        .not_valid_after(min(at + HOLDS, issuer.not_valid_after_utc))
        .add_extension(x509.SubjectAlternativeName(subjects(names)), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(keeping.usage(digital_signature=True), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(theirs), critical=False)
        .sign(authority.key, hashes.SHA256())
    )
    return key, certificate
