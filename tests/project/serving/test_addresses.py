"""Where phones reach the book: its name first, then the addresses of its own network."""

import pytest

from practice.project.serving import addresses
from practice.project.serving.addresses import MeetingPoint, certified_hosts, is_near, phone_addresses


@pytest.fixture(autouse=True)
def own(monkeypatch, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    monkeypatch.setattr(addresses, "own_addresses", lambda: ["192.168.1.20", "10.0.0.7"])
    monkeypatch.setattr(addresses, "_served", None)


def test_while_phones_are_not_served_there_is_no_address():
    assert phone_addresses() == []


def test_the_name_that_stays_comes_first():
    addresses.note_served(MeetingPoint("roundbook", 8443))

    assert phone_addresses() == [
        "https://roundbook.local:8443/",
        "https://192.168.1.20:8443/",
        "https://10.0.0.7:8443/",
    ]


def test_the_name_and_the_port_outlive_the_process():
    point = MeetingPoint("roundbook-2", 8444)

    addresses.keep_meeting_point(point)

    assert addresses.kept_meeting_point() == point


@pytest.mark.parametrize("content", [None, "", "{", "[]", '{"name": "a"}', '{"name": "a", "port": "x"}'])
def test_what_cannot_be_read_is_no_meeting_point(tmp_path, content):
    if content is not None:
        (tmp_path / "tls").mkdir()
        (tmp_path / "tls" / "reached.json").write_text(content)

    assert addresses.kept_meeting_point() is None


def test_a_certificate_names_this_machine_and_its_addresses():
    expected = ["roundbook.local", "192.168.1.20", "10.0.0.7", "127.0.0.1", "localhost"]

    assert certified_hosts(MeetingPoint("roundbook", 8443)) == expected


@pytest.mark.parametrize(
    ("address", "near"),
    [
        ("127.0.0.2", True),
        ("10.255.0.1", True),
        ("172.16.0.1", True),
        ("172.31.255.255", True),
        ("172.32.0.1", False),
        ("192.168.0.1", True),
        ("169.254.3.4", True),
        ("8.8.8.8", False),
        ("100.64.0.1", False),
    ],
)
def test_own_networks_are_those_that_never_leave_it(address, near):
    """RFC 1918 and RFC 3927."""
    assert is_near(address) is near
