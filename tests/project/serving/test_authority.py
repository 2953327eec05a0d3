"""The practice's own authority: made once, for its own network alone, and renewed without pairing again."""

import contextlib
import socket
import ssl
import stat
import threading
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.x509.oid import NameOID

from practice.project.backup.contents import documents
from practice.project.exits import EnvironmentProblem
from practice.project.serving.authority import (
    practice_authority,
    server_file,
    tls_context,
)

HOSTS = ["roundbook.local", "192.168.1.20", "127.0.0.1", "localhost"]


def now() -> datetime:
    return datetime.now(UTC)


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    return tmp_path / "tls"


def shake_hands(trusted: bytes, path, host: str) -> str:
    """Open a connection to a server with the certificate of a file as a phone that trusts one authority
    does; return the version of TLS."""
    client = ssl.create_default_context(cadata=trusted.decode())
    near, far = socket.socketpair()

    def serve():
        with contextlib.suppress(OSError), tls_context(path).wrap_socket(far, server_side=True) as served:
            served.recv(1)

    thread = threading.Thread(target=serve)
    thread.start()
    try:
        with client.wrap_socket(near, server_hostname=host) as connection:
            return connection.version()
    finally:
        near.close()
        thread.join()
        far.close()


def certificate_of(path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(path.read_bytes())


@pytest.mark.parametrize("host", HOSTS)
def test_who_trusts_the_authority_alone_reaches_the_server_by_each_of_its_names(host):
    path = server_file(HOSTS, now())

    assert shake_hands(practice_authority(now()).pem, path, host) == "TLSv1.3"


@pytest.mark.parametrize("host", ["192.168.1.21", "barn.local", "roundbook.example"])
def test_by_any_other_name_it_is_refused(host):
    path = server_file(HOSTS, now())

    with pytest.raises(ssl.SSLCertVerificationError):
        shake_hands(practice_authority(now()).pem, path, host)


def test_who_trusts_another_authority_is_told_no(settings, tmp_path):
    path = server_file(HOSTS, now())
    settings.DATA_DIR = tmp_path / "elsewhere"
    other = practice_authority(now())

    with pytest.raises(ssl.SSLCertVerificationError, match="issuer|self-signed"):
        shake_hands(other.pem, path, HOSTS[0])


@pytest.mark.parametrize("host", ["bank.example", "8.8.8.8"])
def test_the_authority_is_good_for_its_own_network_alone(host):
    """Even who stole its key could not pass for anybody else."""
    path = server_file([host], now())

    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        shake_hands(practice_authority(now()).pem, path, host)


def test_older_tls_is_refused():
    context = tls_context(server_file(HOSTS, now()))

    assert context.minimum_version == ssl.TLSVersion.TLSv1_2


def test_keys_are_open_to_their_owner_alone(folder):
    server_file(HOSTS, now())

    modes = {path.name: oct(stat.S_IMODE(path.stat().st_mode)) for path in [folder, *folder.iterdir()]}
    assert modes == {"tls": "0o700", "authority.pem": "0o600", "server.pem": "0o600"}


def test_what_a_phone_is_given_holds_no_key():
    authority = practice_authority(now())

    assert b"PRIVATE" not in authority.pem
    assert x509.load_der_x509_certificate(authority.der) == authority.certificate


def test_the_fingerprint_is_as_phones_show_it():
    authority = practice_authority(now())

    shown = authority.fingerprint()

    assert bytes.fromhex(shown) == authority.certificate.fingerprint(hashes.SHA256())
    assert [len(pair) for pair in shown.split(" ")] == [2] * 32
    assert shown == shown.upper()


def test_no_backup_holds_a_key(settings):
    server_file(HOSTS, now())
    invoice = settings.DATA_DIR / "invoices" / "2026" / "2026-0001.pdf"
    invoice.parent.mkdir(parents=True)
    invoice.touch()

    assert documents() == [invoice]


def test_two_starts_have_one_authority_and_one_certificate():
    first = practice_authority(now()).pem, server_file(HOSTS, now()).read_bytes()

    again = practice_authority(now()).pem, server_file(list(reversed(HOSTS)), now()).read_bytes()

    assert again == first


def test_thirty_days_before_its_end_the_certificate_is_renewed_and_phones_stay_paired():
    authority = practice_authority(now())
    made = server_file(HOSTS, now())
    old = certificate_of(made)
    end = old.not_valid_after_utc

    server_file(HOSTS, end - timedelta(days=30, seconds=1))
    kept = certificate_of(made)
    renewed = certificate_of(server_file(HOSTS, end - timedelta(days=29)))

    assert kept == old
    assert renewed.serial_number != old.serial_number
    assert renewed.not_valid_after_utc > end + timedelta(days=300)
    assert practice_authority(now()).pem == authority.pem
    renewed.verify_directly_issued_by(authority.certificate)


def test_a_certificate_lasts_no_longer_than_phones_take():
    """398 days: https://support.apple.com/en-us/102028."""
    made = certificate_of(server_file(HOSTS, now()))

    assert made.not_valid_after_utc - made.not_valid_before_utc <= timedelta(days=398)
    assert made.not_valid_before_utc < now() - timedelta(days=1)


def test_another_address_gets_another_certificate_of_the_same_authority():
    authority = practice_authority(now())
    server_file(HOSTS, now())

    path = server_file([*HOSTS, "10.0.0.7"], now())

    assert shake_hands(authority.pem, path, "10.0.0.7") == "TLSv1.3"


def test_a_certificate_that_is_cut_off_is_made_anew():
    path = server_file(HOSTS, now())
    path.write_bytes(path.read_bytes()[:300])

    assert shake_hands(practice_authority(now()).pem, server_file(HOSTS, now()), HOSTS[0]) == "TLSv1.3"


def test_a_damaged_authority_is_named_and_left_alone(folder):
    practice_authority(now())
    path = folder / "authority.pem"
    path.write_bytes(path.read_bytes()[:300])

    with pytest.raises(EnvironmentProblem) as refused:
        practice_authority(now())

    assert str(refused.value) == (
        f"The certificate authority in {path} is damaged. Delete the file: the next start makes a new"
        " one, and every phone has to be paired again."
    )
    assert len(path.read_bytes()) == 300


def test_after_ten_years_there_is_another_authority():
    first = practice_authority(now())
    end = first.certificate.not_valid_after_utc

    second = practice_authority(end - timedelta(days=29))

    assert second.fingerprint() != first.fingerprint()
    assert end - now() > timedelta(days=3640)
    [name] = second.certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    assert name.value == f"Roundbook, made {end - timedelta(days=29):%Y-%m-%d}"
