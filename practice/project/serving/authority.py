"""The practice's own certificate authority: made once, trusted by its phones, good for its own network alone.

`tls/authority.pem` holds its certificate and key, `tls/server.pem` the server's key and certificates; each is
one file, so that a key is never there without its certificate. The authority may sign for names in `.local`
and for addresses of one's own network only, so a key that is stolen opens nothing else on a phone. It is in
no backup and no export: on another machine there is another authority, and the phones pair again.
"""

import ipaddress
import ssl
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from django.conf import settings

from practice.lib.kept_files import keep_file, replace_file
from practice.project.exits import EnvironmentProblem
from practice.project.serving.addresses import LOCAL, OWN_NETWORKS

LASTS = timedelta(days=3650)
# What phones take at most: https://support.apple.com/en-us/102028 (398 days).
SERVER_LASTS = timedelta(days=397)
RENEWED_BEFORE = timedelta(days=30)
CLOCKS_APART = timedelta(days=2)


@dataclass(frozen=True)
class Authority:
    """What phones are asked to trust."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    @property
    def pem(self) -> bytes:
        """The certificate for a phone; without its key."""
        return self.certificate.public_bytes(serialization.Encoding.PEM)

    @property
    def der(self) -> bytes:
        """The same in the other form that phones read."""
        return self.certificate.public_bytes(serialization.Encoding.DER)

    def fingerprint(self) -> str:
        """The SHA-256 of the certificate in pairs, as phones show it, for comparing by eye."""
        return self.certificate.fingerprint(hashes.SHA256()).hex(" ").upper()


def practice_authority(now: datetime) -> Authority:
    """Return the authority, made where there is none or its ten years are over.

    Raises EnvironmentProblem if its file is damaged.
    """
    path = _folder() / "authority.pem"
    if not path.exists():
        keep_file(path, _pem_of(*_new_authority(now)))
    found = _read_authority(path)
    if found.certificate.not_valid_after_utc - now < RENEWED_BEFORE:
        replace_file(path, _pem_of(*_new_authority(now)))
        found = _read_authority(path)
    return found


def server_file(hosts: list[str], now: datetime) -> Path:
    """Return the file with the server's key and certificates for these hosts.

    It is made anew where it soon ends, is for other hosts or by another authority. The authority stays.
    """
    path = _folder() / "server.pem"
    authority = practice_authority(now)
    if not _is_good(_read_certificate(path), authority, hosts, now):
        certificate, key = _new_server(authority, hosts, now)
        replace_file(path, _pem_of(certificate, key) + authority.pem)
    return path


def tls_context(path: Path) -> ssl.SSLContext:
    """Return a server's TLS, 1.2 or later, with the certificate of a file."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.set_alpn_protocols(["http/1.1"])
    context.load_cert_chain(path)
    return context


def _is_good(
    certificate: x509.Certificate | None, authority: Authority, hosts: list[str], now: datetime
) -> bool:
    """Whether a certificate is by this authority, for these hosts, and holds for a while."""
    if certificate is None:
        return False
    try:
        certificate.verify_directly_issued_by(authority.certificate)
        named = set(certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value)
    except (ValueError, TypeError, InvalidSignature, x509.ExtensionNotFound):
        return False
    holds = certificate.not_valid_before_utc <= now <= certificate.not_valid_after_utc - RENEWED_BEFORE
    return holds and named == set(map(_general_name, hosts))


def _new_authority(now: datetime) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    key = ec.generate_private_key(ec.SECP256R1())
    name = _name(f"Roundbook, made {now:%Y-%m-%d}")
    addresses = [x509.IPAddress(network) for network in (*LOCAL, *OWN_NETWORKS)]
    allowed = x509.NameConstraints([x509.DNSName("local"), x509.DNSName("localhost"), *addresses], None)
    usage = _usage(key_cert_sign=True, crl_sign=True)
    builder = _builder(name, name, key, now, now + LASTS)
    builder = builder.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
    builder = builder.add_extension(usage, critical=True).add_extension(allowed, critical=True)
    return builder.sign(key, hashes.SHA256()), key


def _new_server(
    authority: Authority, hosts: list[str], now: datetime
) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    key, issuer = ec.generate_private_key(ec.SECP256R1()), authority.certificate
    end = min(now - CLOCKS_APART + SERVER_LASTS, issuer.not_valid_after_utc)
    names = x509.SubjectAlternativeName(map(_general_name, hosts))
    by = x509.AuthorityKeyIdentifier.from_issuer_public_key(issuer.public_key())
    serves = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
    builder = _builder(_name(hosts[0]), issuer.subject, key, now, end)
    builder = builder.add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
    builder = builder.add_extension(_usage(digital_signature=True), critical=True)
    builder = builder.add_extension(serves, critical=False).add_extension(by, critical=False)
    builder = builder.add_extension(names, critical=False)
    return builder.sign(authority.key, hashes.SHA256()), key


def _builder(subject, issuer, key, now: datetime, end: datetime) -> x509.CertificateBuilder:
    """Return what both kinds of certificate have; valid from a little before, as clocks differ."""
    builder = x509.CertificateBuilder().subject_name(subject).issuer_name(issuer).public_key(key.public_key())
    builder = builder.serial_number(x509.random_serial_number())
    builder = builder.not_valid_before(now - CLOCKS_APART).not_valid_after(end)
    of_key = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    return builder.add_extension(of_key, critical=False)


def _usage(**allowed: bool) -> x509.KeyUsage:
    none = dict.fromkeys(
        [
            "digital_signature",
            "content_commitment",
            "key_encipherment",
            "data_encipherment",
            "key_agreement",
            "key_cert_sign",
            "crl_sign",
            "encipher_only",
            "decipher_only",
        ],
        False,
    )
    return x509.KeyUsage(**none | allowed)


def _name(common: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common)])


def _general_name(host: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(host))
    except ValueError:
        return x509.DNSName(host)


def _pem_of(certificate: x509.Certificate, key: ec.EllipticCurvePrivateKey) -> bytes:
    kept = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    return kept + certificate.public_bytes(serialization.Encoding.PEM)


def _read_authority(path: Path) -> Authority:
    try:
        content = path.read_bytes()
        certificate = x509.load_pem_x509_certificate(content)
        key = serialization.load_pem_private_key(content, None)
        if key.public_key() != certificate.public_key():
            raise ValueError
    except (OSError, ValueError, TypeError):
        raise EnvironmentProblem(
            f"The certificate authority in {path} is damaged. Delete the file: the next start makes a new"
            " one, and every phone has to be paired again."
        ) from None
    return Authority(certificate, key)


def _read_certificate(path: Path) -> x509.Certificate | None:
    """Return the first certificate of a file; None where there is no whole one."""
    try:
        content = path.read_bytes()
        serialization.load_pem_private_key(content, None)
        return x509.load_pem_x509_certificate(content)
    except (OSError, ValueError, TypeError):
        return None


def _folder() -> Path:
    return settings.DATA_DIR / "tls"
