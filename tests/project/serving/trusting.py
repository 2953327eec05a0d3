"""A phone that trusts an authority, as Python's ssl and http see it, and a desk beside it."""

import contextlib
import http.client
import socket
import ssl
import urllib.parse
from http.cookies import SimpleCookie
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding


def trusting(authority: Path) -> ssl.SSLContext:
    """Return TLS that trusts the certificate of a file, and no other."""
    certificate = x509.load_pem_x509_certificate(authority.read_bytes())
    return ssl.create_default_context(cadata=certificate.public_bytes(Encoding.DER))


def connected(port: int, context: ssl.SSLContext, host="127.0.0.1", at="127.0.0.1", own="127.0.0.1"):
    """Return a connection by TLS to a port `at` an address, asked for as `host`, from its `own` address."""
    plain = socket.create_connection((at, port), timeout=60, source_address=(own, 0))
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


class Visitor:
    """A browser that keeps its cookies and sends forms: on this machine by http, with `trust` by https."""

    def __init__(self, port: int, trust: ssl.SSLContext | None = None, host="127.0.0.1"):
        self.port, self.trust, self.host = port, trust, host
        self.cookies = SimpleCookie()

    @property
    def origin(self) -> str:
        return f"{'https' if self.trust else 'http'}://{self.host}:{self.port}"

    def get(self, path: str, **headers):
        return self._send("GET", path, None, headers)

    def post(self, path: str, form: dict, **headers):
        """Send a form as the page of that address has it; the page was opened before."""
        token = next(morsel.value for name, morsel in self.cookies.items() if name.endswith("csrf"))
        body = urllib.parse.urlencode(form | {"csrfmiddlewaretoken": token})
        headers |= {"Content-Type": "application/x-www-form-urlencoded", "Origin": self.origin}
        return self._send("POST", path, body, headers)

    def log_in(self, name: str, password: str):
        self.get("/login/")
        return self.post("/login/", {"username": name, "password": password})

    def _send(self, method: str, path: str, body: str | None, headers: dict):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        if self.trust:
            connection.sock = connected(self.port, self.trust, self.host, own="127.0.0.2")
        with contextlib.closing(connection):
            cookies = "; ".join(f"{name}={morsel.value}" for name, morsel in self.cookies.items())
            sent = {"Host": f"{self.host}:{self.port}", "Cookie": cookies} | headers
            connection.request(method, path, body, sent)
            answer = connection.getresponse()
            answer.body = answer.read()
        for line in answer.msg.get_all("Set-Cookie", []):
            self.cookies.load(line.strip())
        return answer
