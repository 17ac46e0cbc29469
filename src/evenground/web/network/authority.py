"""The farm's own certificate authority: phones allow offline pages and GPS only where they trust the address.

The authority may only vouch for names and addresses of a private network (name constraints), so that a phone which
trusts it risks nothing with any other site. Source: RFC 5280 (4.2.1.10 name constraints; 4.2.1.6 alternative names);
browsers refuse server certificates that live longer than 398 days (CA/Browser Forum Baseline Requirements 6.3.2).
"""

from __future__ import annotations

import ipaddress
import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

ROOT_FILE, ROOT_KEY_FILE = "authority.pem", "authority-key.pem"
LEAF_FILE, LEAF_KEY_FILE = "server.pem", "server-key.pem"
ROOT_YEARS = 10
LEAF_DAYS = 390
RENEW_DAYS = 60
_EARLIER = timedelta(days=1)  # a phone whose clock is a little behind must not refuse
PRIVATE = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10")
PRIVATE_NAMES = ("local", "localhost", "lan", "internal", "home.arpa")


def may_vouch(name: str) -> bool:
    """Say whether the authority may vouch for a host name or address.

    Examples
    --------
    >>> may_vouch("farm.local"), may_vouch("192.168.1.20"), may_vouch("example.org"), may_vouch("8.8.8.8")
    (True, True, False, False)
    """
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        return any(name == n or name.endswith(f".{n}") for n in PRIVATE_NAMES)
    return any(
        address in ipaddress.ip_network(n) for n in PRIVATE if ipaddress.ip_network(n).version == address.version
    )


@dataclass(frozen=True)
class Papers:
    """The files a server needs.

    Attributes
    ----------
    root, certificate, key : Path
        Authority's certificate to install on phones; the server's certificate with its chain; its key.
    fingerprint : str
        SHA-256 of the authority's certificate, in pairs, to compare on the phone.
    """

    root: Path
    certificate: Path
    key: Path
    fingerprint: str


def papers(folder: Path, names: Sequence[str], *, now: datetime) -> Papers:
    """Return the server's papers; make or renew what is missing, runs out, or lacks one of the names.

    Parameters
    ----------
    folder : Path
        Where they are kept; keys are readable by their owner only.
    names : sequence of str
        Host names and addresses under which phones reach this machine.
    now : datetime
        Time of the check, with time zone.

    Raises
    ------
    OSError
        If the folder cannot be written to.
    """
    folder.mkdir(parents=True, exist_ok=True)
    root, root_key = _root(folder, now)
    leaf = folder / LEAF_FILE
    if not leaf.is_file() or not _holds(x509.load_pem_x509_certificate(leaf.read_bytes()), root, names, now):
        _write_leaf(folder, root, root_key, names, now)
    return Papers(folder / ROOT_FILE, leaf, folder / LEAF_KEY_FILE, fingerprint(root))


def fingerprint(certificate: x509.Certificate) -> str:
    """Return the SHA-256 fingerprint as a phone shows it, in pairs."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def root_der(folder: Path) -> bytes:
    """Return the authority's certificate as phones want it for installing (DER)."""
    pem = (folder / ROOT_FILE).read_bytes()
    return x509.load_pem_x509_certificate(pem).public_bytes(serialization.Encoding.DER)


def _root(folder: Path, now: datetime) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    path, key_path = folder / ROOT_FILE, folder / ROOT_KEY_FILE
    if path.is_file() and key_path.is_file():
        certificate = x509.load_pem_x509_certificate(path.read_bytes())
        key = serialization.load_pem_private_key(key_path.read_bytes(), password=None)
        if certificate.not_valid_after_utc > now + timedelta(days=RENEW_DAYS) and isinstance(
            key, ec.EllipticCurvePrivateKey
        ):
            return certificate, key
    key = ec.generate_private_key(ec.SECP256R1())
    certificate = _root_certificate(key, now)
    _keep_key(key_path, key)
    path.write_bytes(certificate.public_bytes(serialization.Encoding.PEM))
    return certificate, key


def _root_certificate(key: ec.EllipticCurvePrivateKey, now: datetime) -> x509.Certificate:
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "evenground on this farm")])
    allowed: list[x509.GeneralName] = [x509.DNSName(n) for n in PRIVATE_NAMES]
    allowed += [x509.IPAddress(ipaddress.ip_network(n)) for n in PRIVATE]
    public = key.public_key()
    return (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _EARLIER)
        .not_valid_after(now + timedelta(days=365 * ROOT_YEARS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.NameConstraints(permitted_subtrees=allowed, excluded_subtrees=None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
        .sign(key, hashes.SHA256())
    )


def _write_leaf(
    folder: Path, root: x509.Certificate, root_key: ec.EllipticCurvePrivateKey, names: Sequence[str], now: datetime
) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    public = key.public_key()
    certificate = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, names[0])]))
        .issuer_name(root.subject)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _EARLIER)
        .not_valid_after(now + timedelta(days=LEAF_DAYS))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(_alternatives(names)), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(root_key.public_key()), critical=False)
        .sign(root_key, hashes.SHA256())
    )
    _keep_key(folder / LEAF_KEY_FILE, key)
    chain = certificate.public_bytes(serialization.Encoding.PEM) + root.public_bytes(serialization.Encoding.PEM)
    (folder / LEAF_FILE).write_bytes(chain)


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        encipher_only=False,
        decipher_only=False,
    )


def _alternatives(names: Iterable[str]) -> list[x509.GeneralName]:
    out: list[x509.GeneralName] = []
    for name in names:
        try:
            out.append(x509.IPAddress(ipaddress.ip_address(name)))
        except ValueError:
            out.append(x509.DNSName(name))
    return out


def _holds(leaf: x509.Certificate, root: x509.Certificate, names: Sequence[str], now: datetime) -> bool:
    """Say whether a server certificate is from this authority, lives long enough and has all names."""
    said = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    there = {*said.get_values_for_type(x509.DNSName), *(str(a) for a in said.get_values_for_type(x509.IPAddress))}
    lives = leaf.not_valid_after_utc > now + timedelta(days=RENEW_DAYS)
    try:
        leaf.verify_directly_issued_by(root)
    except (ValueError, TypeError, InvalidSignature):  # papers of an earlier authority
        return False
    return lives and set(names) <= there


def _keep_key(path: Path, key: ec.EllipticCurvePrivateKey) -> None:
    """Write a key that only its owner can read, replacing an earlier one as a whole."""
    data = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    part = path.with_suffix(".part")
    part.unlink(missing_ok=True)
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as out:
        out.write(data)
    part.replace(path)
