"""How keys and certificates are kept: key and certificate in one file, so that they always belong together."""

import contextlib
import os
import tempfile
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec


def pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def write(file: Path, content: bytes) -> None:
    """Whole or not at all, for this account alone: whoever opens `file` meets the old or the new."""
    file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    # mkstemp makes a file that only its owner may read.
    handle, half = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        os.replace(half, file)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(half)
        raise


def usage(
    *, digital_signature: bool = False, key_cert_sign: bool = False, crl_sign: bool = False
) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=digital_signature,
        key_cert_sign=key_cert_sign,
        crl_sign=crl_sign,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )
