"""The farm's authority, judged by another implementation: Python's ssl (OpenSSL) as the phone."""

from __future__ import annotations

import socket
import ssl
import stat
import threading
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509

from evenground.web.network.authority import LEAF_DAYS, papers, root_der
from evenground.web.network.doorstep import doorstep
from evenground.web.network.reach import reach

NOW = datetime.now(UTC)


def greet(made, name: str) -> str:
    """Shake hands as a phone that trusts only the farm's authority; return the server's answer."""
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(made.certificate, made.key)
    phone = ssl.create_default_context(cafile=made.root)
    here, there = socket.socketpair()
    failed: list[Exception] = []

    def answer() -> None:
        try:
            with server.wrap_socket(there, server_side=True) as line:
                line.sendall(b"moin")
        except (ssl.SSLError, OSError) as error:
            failed.append(error)

    thread = threading.Thread(target=answer)
    thread.start()
    try:
        with phone.wrap_socket(here, server_hostname=name) as line:
            return line.recv(10).decode()
    finally:
        here.close()
        thread.join(10)


@pytest.mark.parametrize("name", ["192.168.178.20", "farm.local", "localhost", "127.0.0.1"])
def test_a_phone_that_trusts_the_authority_accepts_every_name_of_the_server(tmp_path, name):
    made = papers(tmp_path, ["192.168.178.20", "farm.local", "localhost", "127.0.0.1"], now=NOW)
    assert greet(made, name) == "moin"


def test_another_name_is_refused(tmp_path):
    made = papers(tmp_path, ["farm.local"], now=NOW)
    with pytest.raises(ssl.SSLCertVerificationError):
        greet(made, "other.local")


@pytest.mark.parametrize("name", ["example.org", "203.0.113.7"])
def test_the_authority_cannot_vouch_for_the_world(tmp_path, name):
    """RFC 5280, 4.2.1.10: a certificate outside the permitted names is refused though its signature is right."""
    made = papers(tmp_path, [name], now=NOW)
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree"):
        greet(made, name)


def test_papers_are_kept_until_they_run_out_or_a_name_is_missing(tmp_path):
    first = papers(tmp_path, ["farm.local"], now=NOW)
    leaf, root = first.certificate.read_bytes(), first.root.read_bytes()
    papers(tmp_path, ["farm.local"], now=NOW + timedelta(days=200))
    assert first.certificate.read_bytes() == leaf
    papers(tmp_path, ["farm.local"], now=NOW + timedelta(days=350))
    renewed = first.certificate.read_bytes()
    assert renewed != leaf
    papers(tmp_path, ["farm.local", "10.0.0.5"], now=NOW + timedelta(days=350))
    assert first.certificate.read_bytes() != renewed
    assert first.root.read_bytes() == root, "phones keep the authority they installed"


def test_a_server_certificate_lives_less_than_398_days(tmp_path):
    made = papers(tmp_path, ["farm.local"], now=NOW)
    leaf = x509.load_pem_x509_certificate(made.certificate.read_bytes())
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=398)
    assert LEAF_DAYS < 398


def test_keys_are_readable_by_their_owner_only(tmp_path):
    made = papers(tmp_path, ["farm.local"], now=NOW)
    for path in (made.key, tmp_path / "authority-key.pem"):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_the_fingerprint_is_that_of_the_file_a_phone_installs(tmp_path):
    import hashlib

    made = papers(tmp_path, ["farm.local"], now=NOW)
    assert made.fingerprint.replace(":", "").lower() == hashlib.sha256(root_der(tmp_path)).hexdigest()


def test_this_machine_has_at_least_its_own_name():
    assert "localhost" in reach()
    assert reach("farm.lan")[0] == "farm.lan"


@pytest.mark.parametrize(
    ("asked", "language", "said"),
    [
        ("de-AT,de;q=0.9,en;q=0.5", "de", "Zertifikat holen"),
        ("en-US,en;q=0.9,de;q=0.8", "en-gb", "Get the certificate"),
        ("fr", "en-gb", "Get the certificate"),
        ("", "en-gb", "Get the certificate"),
        ("\u0000;;q=x", "en-gb", "Get the certificate"),
    ],
)
def test_the_doorstep_speaks_the_phone_s_language(asked, language, said):
    app = doorstep(b"x", "A3:A3", "https://192.168.0.2:8420/")
    page = b"".join(app({"PATH_INFO": "/", "HTTP_ACCEPT_LANGUAGE": asked}, lambda *_: None)).decode()
    assert f'<html lang="{language}">' in page
    assert said in page
