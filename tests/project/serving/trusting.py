"""A phone that trusts a book's authority, as Python's ssl sees it."""

import contextlib
import http.client
import socket
import ssl
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding


def trusting(authority: Path) -> ssl.SSLContext:
    """Return TLS that trusts the certificate of a file, and no other."""
    certificate = x509.load_pem_x509_certificate(authority.read_bytes())
    return ssl.create_default_context(cadata=certificate.public_bytes(Encoding.DER))


def connected(port: int, context: ssl.SSLContext, host="127.0.0.1", at="127.0.0.1", own="127.0.0.1"):
    """Return a connection by TLS to a port `at` an address, asked for as `host`, from its `own` address."""
    plain = socket.create_connection((at, port), timeout=10, source_address=(own, 0))
    return context.wrap_socket(plain, server_hostname=host)


def ask(port: int, context: ssl.SSLContext, path: str, host="127.0.0.1", name="", body=None, headers=()):
    """Send one request as a phone beside this machine does; return the answer with its `text`.

    `name`: what it says as Host, where that is not the name it trusts.
    """
    connection = http.client.HTTPConnection("127.0.0.1", port)
    connection.sock = connected(port, context, host, own="127.0.0.2")
    with contextlib.closing(connection):
        sent = {"Host": f"{name or host}:{port}"} | dict(headers)
        connection.request("POST" if body else "GET", path, body, sent)
        answer = connection.getresponse()
        answer.text = answer.read().decode()
        return answer
