"""The name in the network: announced, asked for before, and left to who has it. Real packets, on loopback."""

import secrets
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from zeroconf import AddressResolverIPv4, IPVersion, Zeroconf

from practice.project.serving import local_name
from practice.project.serving.addresses import MeetingPoint
from practice.project.serving.local_name import LocalName

HERE = ["127.0.0.1"]


def in_a_thread(work: Callable):
    """Do it in another thread: in this one, the loop of a test in a browser may run."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(work).result()


@pytest.fixture
def announce():
    """Return a function that announces a name on this machine alone."""
    announced = []

    def begin(wished, addresses=HERE):
        announced.append(in_a_thread(lambda: LocalName(MeetingPoint(wished, 8443), addresses)))
        return announced[-1]

    yield begin
    for name in announced:
        in_a_thread(name.close)


@pytest.fixture
def wished():
    """A name that no test beside this one has."""
    return f"roundbook-{secrets.token_hex(4)}x"


def found_at(name: str) -> list[str]:
    """Ask the network for a name as a phone does; return the addresses it has."""
    asker = Zeroconf(interfaces=HERE, ip_version=IPVersion.V4Only)
    try:
        resolver = AddressResolverIPv4(f"{name}.local.")
        resolver.request(asker, 4000)
        return resolver.parsed_addresses()
    finally:
        asker.close()


def test_a_phone_finds_the_book_by_its_name(announce, wished):
    assert announce(wished).name == wished
    assert in_a_thread(lambda: found_at(wished)) == HERE


def test_a_name_that_is_taken_is_left_to_who_has_it(announce, wished, monkeypatch):
    # On one machine an answer to one may reach another; who asks longer gets one that is for all.
    monkeypatch.setattr(local_name, "ASK_MS", 4000)

    first, second = announce(wished).name, announce(wished).name

    assert [first, second] == [wished, f"{wished}-2"]


def test_once_it_is_closed_the_name_is_free(announce, wished):
    in_a_thread(announce(wished).close)

    assert in_a_thread(lambda: found_at(wished)) == []


@pytest.mark.parametrize("addresses", [[], ["192.0.2.77"]], ids=["no network", "an address that is gone"])
def test_without_a_network_there_is_no_name_and_no_error(announce, wished, addresses):
    assert announce(wished, addresses).name == ""
