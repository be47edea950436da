"""Our own certificate for the local network: made here, kept with the user's data, told by its fingerprint.

Nobody vouches for it but who reads the fingerprint, in the terminal and in the browser's warning, and finds them
equal. The key is one of ECDSA on P-256; the certificate names the address and lasts a year (browsers take 398 days).
"""

from __future__ import annotations

import contextlib
import ipaddress
import os
import ssl
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from guide.problems import Problem, ProblemError

if TYPE_CHECKING:
    from cryptography.x509 import Certificate

LASTS = timedelta(days=365)
RENEWED = timedelta(days=30)
"""Before its end a certificate is made anew."""
BACK = timedelta(days=1)
"""A tablet's clock may be behind ours."""
NAME = "guide.pem"


def context(folder: Path, address: str, now: datetime | None = None) -> tuple[ssl.SSLContext, str]:
    """TLS with the certificate in a folder, made there if it is missing, old, or for another address; its fingerprint.

    Raises `ProblemError` if the library is missing, the folder can't be written, or others may read the key.
    """
    now = now or datetime.now(UTC)
    path = folder / NAME
    try:
        found = _found(path)
        if found is None or not _fits(found, address, now):
            found = _make(path, address, now)
        made = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        made.minimum_version = ssl.TLSVersion.TLSv1_2
        made.load_cert_chain(path)
    except OSError as fault:
        message = f"{path}: the certificate can't be kept: {fault.strerror or fault}"
        raise ProblemError([Problem("certificate", message, hint="Set GUIDE_DATA to a folder of your own.")]) from None
    return made, fingerprint(found)


def fingerprint(certificate: Certificate) -> str:
    """Its SHA-256, as browsers show it: 32 bytes in hexadecimal with colons."""
    from cryptography.hazmat.primitives import hashes

    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def _found(path: Path) -> Certificate | None:
    from cryptography import x509

    try:
        if stat.S_IMODE(path.stat().st_mode) & 0o077:
            message = f"{path} can be read by others, and it has the key of this machine's certificate"
            raise ProblemError([Problem("certificate-open", message, hint="Delete it: another is made.")])
        return x509.load_pem_x509_certificate(path.read_bytes())
    except (FileNotFoundError, ValueError):
        return None


def _fits(certificate: Certificate, address: str, now: datetime) -> bool:
    from cryptography import x509

    names = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    ours = names.get_values_for_type(x509.IPAddress)
    return ipaddress.ip_address(address) in ours and certificate.not_valid_after_utc - now > RENEWED


def _make(path: Path, address: str, now: datetime) -> Certificate:
    """Make key and certificate, and put both into one file that only we can read."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"guide on {address}")])
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BACK)
        .not_valid_after(now + LASTS)
        .add_extension(x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address(address))]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(key, hashes.SHA256())
    )
    both = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    ) + made.public_bytes(serialization.Encoding.PEM)
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    with contextlib.suppress(FileNotFoundError):
        path.unlink()
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(both)
    return made
