"""The pages for other machines of the network: never in the clear, under a certificate that can be compared.

Sides: the program in a process of its own, asked over real TLS by Python's own client; what the client sees of the
certificate against what the program printed; a client of an older TLS; the certificate read back by its own words.
"""

from __future__ import annotations

import hashlib
import os
import re
import signal
import socket
import ssl
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest
from cryptography import x509

from elbowroom import bootstrap, bootstrap_web
from elbowroom.adapters.certificates.making import is_still_good, make_certificate, read_certificate
from elbowroom.adapters.machine.network import find_own_address, find_own_names, is_loopback
from elbowroom.settings import RecordSettings
from tests.makers.record import PASSPHRASE
from tests.makers.sealed_clinic import begin_sealed_clinic

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
NAMES = ("192.168.7.20", "clinic-laptop", "localhost")


@contextmanager
def run_lan(places: dict[str, str]) -> Iterator[tuple[str, str]]:
    """Run the program for others, on loopback, and yield its address and the fingerprint."""
    words = ["-u", "-m", "elbowroom", "open", "--no-browser", "--lan", "--host", "127.0.0.1"]
    program = subprocess.Popen([sys.executable, *words], env=places, stdout=subprocess.PIPE, text=True)
    assert program.stdout is not None
    try:
        address = re.findall(r"https://\S+", program.stdout.readline())[0]
        yield address.rstrip("/"), program.stdout.readline().rpartition(" ")[2].strip()
    finally:
        program.send_signal(signal.SIGINT)
        program.communicate(timeout=120)


def test_pages_come_under_tls_alone(tmp_path: Path) -> None:
    places = begin_sealed_clinic(tmp_path)
    with run_lan(places) as (address, fingerprint):
        port = int(address.rpartition(":")[2])
        pem = ssl.get_server_certificate(("127.0.0.1", port))
        digest = hashlib.sha256(ssl.PEM_cert_to_DER_cert(pem)).hexdigest().upper()
        assert fingerprint.replace(":", "") == digest
        trusting = ssl.create_default_context(cadata=pem)
        with httpx.Client(verify=trusting, base_url=address) as client:
            answer = client.get("/log-in")
            assert answer.status_code == 200
            assert "; Secure" in answer.headers["set-cookie"]
            assert client.get("/").headers["location"] == "/log-in?then=%2F"
            assert client.get("/log-in", headers={"host": "example.org"}).status_code == 403
        with pytest.raises(httpx.ConnectError, match="self-signed"):
            httpx.get(f"{address}/log-in")
        with pytest.raises(httpx.TransportError):
            httpx.get(f"http://127.0.0.1:{port}/log-in")
        assert not is_answered_by_tls_1_2(port)
    with run_lan(places) as (_, again):
        assert again == fingerprint
    key = (tmp_path / "record" / "pages.pem").read_text(encoding="ascii")
    assert "BEGIN ENCRYPTED PRIVATE KEY" in key
    assert "BEGIN PRIVATE KEY" not in key


def is_answered_by_tls_1_2(port: int) -> bool:
    context = ssl.create_default_context()
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    context.maximum_version = ssl.TLSVersion.TLSv1_2
    try:
        with socket.create_connection(("127.0.0.1", port)) as plain, context.wrap_socket(plain):
            return True
    except ssl.SSLError:
        return False


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.7.20", "::", "example.org"])
def test_others_are_not_let_in_without_tls(tmp_path: Path, host: str) -> None:
    words = [sys.executable, "-m", "elbowroom", "open", "--no-browser", "--host", host]
    places = {**os.environ, "ELBOWROOM_RECORD": str(tmp_path / "record")}
    done = subprocess.run(words, env=places, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 2
    assert "add --lan" in done.stderr


def test_record_is_not_begun_over_the_network(tmp_path: Path) -> None:
    words = [sys.executable, "-m", "elbowroom", "open", "--no-browser", "--lan"]
    places = {**os.environ, "ELBOWROOM_RECORD": str(tmp_path / "record")}
    done = subprocess.run(words, env=places, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 2
    assert "on this machine first" in done.stderr


def test_certificate_holds_for_its_addresses_and_a_year() -> None:
    text = make_certificate(NAMES, b"secret", NOW)
    found = read_certificate(text, b"secret")
    assert found.names == set(NAMES)
    assert found.ends_at == NOW + timedelta(days=365)
    plain = x509.load_pem_x509_certificate(text)
    assert plain.extensions.get_extension_for_class(x509.BasicConstraints).value.ca is False
    plain.verify_directly_issued_by(plain)
    for days, names, is_good in ((334, NAMES, True), (336, NAMES, False), (0, (*NAMES, "10.0.0.1"), False)):
        assert is_still_good(found, names, NOW + timedelta(days=days)) is is_good


def test_key_is_sealed_and_its_own() -> None:
    text, other = (make_certificate(NAMES, b"secret", NOW) for _ in range(2))
    mixed = text[: text.index(b"-----BEGIN ENCRYPTED")] + other[other.index(b"-----BEGIN ENCRYPTED") :]
    for wrong, password in ((text, b"another"), (mixed, b"secret"), (b"", b"secret"), (text[:200], b"secret")):
        with pytest.raises(ValueError, match=r".+"):
            read_certificate(wrong, password)


def test_new_keys_of_the_record_make_a_new_certificate(tmp_path: Path) -> None:
    begin_sealed_clinic(tmp_path)
    place = RecordSettings(folder=tmp_path / "record", address="", passphrase_file=None)
    first = bootstrap_web.prepare_tls(place, PASSPHRASE, NAMES)
    assert bootstrap_web.prepare_tls(place, PASSPHRASE, NAMES).fingerprint == first.fingerprint
    bootstrap.change_keys(place, PASSPHRASE)
    assert bootstrap_web.prepare_tls(place, PASSPHRASE, NAMES).fingerprint != first.fingerprint
    assert first.password not in repr(first)


def test_own_address_is_an_address() -> None:
    assert socket.inet_aton(find_own_address())
    assert all(name == name.lower() for name in find_own_names())
    hosts = {host: is_loopback(host) for host in ("127.0.0.1", "127.8.0.1", "::1", "localhost", "0.0.0.0", "::", "a.b")}
    assert [host for host, is_own in hosts.items() if is_own] == ["127.0.0.1", "127.8.0.1", "::1", "localhost"]
