"""Makes and reads a self-signed certificate for the addresses of this machine, with its sealed private key."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

VALID_FOR, REMADE_BEFORE_END = timedelta(days=365), timedelta(days=30)
"""A certificate holds for a year, and a month before its end a new one is made."""
CLOCK_ERROR = timedelta(days=1)
"""By how much the clock of a telephone may be behind."""


@dataclass(frozen=True, kw_only=True)
class FoundCertificate:
    """What a certificate says."""

    names: frozenset[str]
    """Addresses and names that it holds for."""
    ends_at: datetime
    """When it ends, UTC."""
    fingerprint: str
    """SHA-256 of it, in pairs of hexadecimal digits with colons between, as browsers show it."""


def make_certificate(names: Sequence[str], password: bytes, now: datetime) -> bytes:
    """Return a certificate for addresses and names with its private key, sealed by a password, as PEM text."""
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "elbowroom on this machine")])
    builder = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(int.from_bytes(os.urandom(16), "big") >> 1)
        .not_valid_before(now - CLOCK_ERROR)
        .not_valid_after(now + VALID_FOR)
        .add_extension(x509.SubjectAlternativeName([_name_host(name) for name in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    )
    made = builder.sign(key, hashes.SHA256())
    sealed = key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.BestAvailableEncryption(password),
    )
    return made.public_bytes(serialization.Encoding.PEM) + sealed


def read_certificate(text: bytes, password: bytes) -> FoundCertificate:
    """Return what a certificate says; raises `ValueError` where it or its key cannot be read."""
    found = x509.load_pem_x509_certificate(text)
    key = serialization.load_pem_private_key(text[text.index(b"-----BEGIN ENCRYPTED") :], password)
    if key.public_key() != found.public_key():
        raise ValueError("the key is not the one of the certificate")
    names = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    hosts = [*names.get_values_for_type(x509.DNSName), *map(str, names.get_values_for_type(x509.IPAddress))]
    digest = found.fingerprint(hashes.SHA256()).hex().upper()
    pairs = ":".join(digest[at : at + 2] for at in range(0, len(digest), 2))
    return FoundCertificate(names=frozenset(hosts), ends_at=found.not_valid_after_utc, fingerprint=pairs)


def is_still_good(found: FoundCertificate, names: Sequence[str], now: datetime) -> bool:
    """Say whether a certificate holds for all of some names and not only for a few days more."""
    return set(names) <= found.names and found.ends_at - now > REMADE_BEFORE_END


def _name_host(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ip_address(name))
    except ValueError:
        return x509.DNSName(name)
