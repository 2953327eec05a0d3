"""Phones are served while the machine moves to another network and its certificate nears its end."""

from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509

from practice.project.exits import EnvironmentProblem
from practice.project.server import bound
from practice.project.serving import local_name, phones
from practice.project.serving.addresses import MeetingPoint, keep_meeting_point, phone_addresses
from practice.project.serving.phones import Phones, phones_listener
from tests.processes import free_port


class Network:
    """The network this machine is in: its addresses, and the names that others have there."""

    def __init__(self):
        self.addresses, self.taken, self.announced = ["192.168.1.20"], set(), []


@pytest.fixture
def network(monkeypatch, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    settings.ALLOWED_HOSTS = ["127.0.0.1", "localhost"]
    network = Network()

    class NameThere(local_name.LocalName):
        """Knows the names of a network without sending anything."""

        def __init__(self, wished, own):
            self.zeroconf = None
            self.name = self._free_name(wished.name) if own else ""
            network.announced.append((self.name, own))

        def _is_taken(self, name):
            return name in network.taken

    monkeypatch.setattr(phones, "LocalName", NameThere)
    for module in ("phones", "addresses"):
        monkeypatch.setattr(f"practice.project.serving.{module}.own_addresses", lambda: network.addresses)
    return network


@pytest.fixture
def serve(network):
    """Return a function that serves phones on a port of the test's own, without anything behind."""
    begun = []

    def begin(port=0, clock=lambda: datetime.now(UTC)):
        served = Phones(bound("127.0.0.1", port), lambda *_: None, clock)
        served.front.begin()
        begun.append(served)
        return served

    yield begin
    for served in begun:
        served.end()


def certificate(tmp_path) -> x509.Certificate:
    return x509.load_pem_x509_certificate((tmp_path / "tls" / "server.pem").read_bytes())


def hosts_of(found: x509.Certificate) -> set[str]:
    names = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return {str(name.value) for name in names}


def test_the_certificate_and_the_allowed_hosts_are_its_name_and_addresses(serve, settings, tmp_path):
    serve()

    expected = {"roundbook.local", "192.168.1.20", "127.0.0.1", "localhost"}
    assert set(settings.ALLOWED_HOSTS) == expected
    assert hosts_of(certificate(tmp_path)) == expected


def test_in_another_network_it_answers_to_the_new_address_alone(serve, network, settings, tmp_path):
    served = serve()
    authority = (tmp_path / "tls" / "authority.pem").read_bytes()
    before = served.front.context
    network.addresses = ["10.0.0.7"]

    served.look()

    expected = {"roundbook.local", "10.0.0.7", "127.0.0.1", "localhost"}
    assert set(settings.ALLOWED_HOSTS) == hosts_of(certificate(tmp_path)) == expected
    assert served.front.context is not before
    assert network.announced == [("roundbook", ["192.168.1.20"]), ("roundbook", ["10.0.0.7"])]
    assert phone_addresses()[1:] == [f"https://10.0.0.7:{served.point.port}/"]
    assert (tmp_path / "tls" / "authority.pem").read_bytes() == authority


def test_without_a_network_it_goes_on_and_comes_back(serve, network, settings):
    network.addresses = []
    served = serve()
    alone = phone_addresses()
    network.addresses = ["192.168.1.20"]

    served.look()

    port = served.point.port
    assert alone == [f"https://roundbook.local:{port}/"]
    assert phone_addresses() == [f"https://roundbook.local:{port}/", f"https://192.168.1.20:{port}/"]
    assert "192.168.1.20" in settings.ALLOWED_HOSTS


def test_a_certificate_near_its_end_is_renewed_while_phones_are_served(serve, tmp_path):
    moved = timedelta()
    served = serve(clock=lambda: datetime.now(UTC) + moved)
    first, authority = certificate(tmp_path), (tmp_path / "tls" / "authority.pem").read_bytes()
    context = served.front.context
    served.look()
    same = certificate(tmp_path) if served.front.context is context else None
    moved = timedelta(days=370)

    served.look()

    assert same == first
    assert served.front.context is not context
    assert certificate(tmp_path).not_valid_after_utc > first.not_valid_after_utc + timedelta(days=300)
    assert (tmp_path / "tls" / "authority.pem").read_bytes() == authority


def test_a_name_that_another_machine_has_is_left_to_it(serve, network):
    network.taken = {"roundbook", "roundbook-2"}

    assert serve().point.host == "roundbook-3.local"


def test_the_name_that_phones_know_is_asked_for_again_each_time(serve, network):
    network.taken = {"roundbook"}
    first = serve().point.name
    network.taken = set()
    second = serve().point.name
    network.taken = {"roundbook-2"}
    third = serve().point.name
    network.taken = set()

    fourth = serve().point.name

    assert [first, second, third, fourth] == ["roundbook-2", "roundbook-2", "roundbook-3", "roundbook-2"]


def test_when_it_ends_it_is_reached_by_nothing_more(serve, settings):
    serve().end()

    assert phone_addresses() == []
    assert settings.ALLOWED_HOSTS == ["127.0.0.1", "localhost"]


def test_the_port_that_phones_know_is_that_one_or_none(network):
    with bound("127.0.0.1", free_port()) as taken:
        port = taken.getsockname()[1]
        keep_meeting_point(MeetingPoint("roundbook", port))

        with pytest.raises(EnvironmentProblem) as refused:
            phones_listener(None)

    assert str(refused.value) == (
        f"The port {port} by which phones know this book is not available (Address already in use). Close the"
        " program that uses it, or choose another with --phones-port; then pair your phones again."
    )
    with phones_listener(None) as listener:
        assert listener.getsockname() == ("0.0.0.0", port)


def test_a_port_that_is_asked_for_is_known_from_then_on(serve):
    port = free_port()
    serve()
    serve(port)

    with pytest.raises(EnvironmentProblem, match=f"The port {port} by which"):
        phones_listener(None)


def test_before_any_phone_knows_one_the_first_free_port_is_taken(network, monkeypatch):
    with bound("0.0.0.0", free_port()) as taken:
        port = taken.getsockname()[1]
        monkeypatch.setattr(phones, "FIRST_PORT", port)
        monkeypatch.setattr(phones, "LAST_PORT", port + 50)

        with phones_listener(None) as listener:
            assert port < listener.getsockname()[1] <= port + 50
