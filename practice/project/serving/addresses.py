"""Where phones reach the book: a name that stays, and the addresses of this machine in its own network.

The name and the port are kept in the data folder. What a phone holds belongs to the address it was opened
by, so that one that changes would part a phone from what it has not handed over yet.
"""

import ipaddress
import json
from dataclasses import asdict, dataclass

import ifaddr
from django.conf import settings

from practice.lib.kept_files import replace_file

FIRST_NAME, FIRST_PORT, LAST_PORT = "roundbook", 8443, 8999
LOCAL = (ipaddress.ip_network("127.0.0.0/8"),)
# Addresses that never leave somebody's own network (RFC 1918), and those without a router (RFC 3927).
OWN_NETWORKS = tuple(
    ipaddress.ip_network(each) for each in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16")
)


@dataclass(frozen=True)
class MeetingPoint:
    """The name without `.local` and the port by which phones know this book."""

    name: str
    port: int

    @property
    def host(self) -> str:
        return f"{self.name}.local"


# As what this process serves phones now.
_served: MeetingPoint | None = None


def is_near(address: str) -> bool:
    """Whether an IPv4 address is this machine's or one of its own network."""
    found = ipaddress.ip_address(address)
    return any(found in network for network in (*LOCAL, *OWN_NETWORKS))


def own_addresses() -> list[str]:
    """Return the IPv4 addresses of this machine in its own network, without 127.0.0.1."""
    found = {
        ip.ip for adapter in ifaddr.get_adapters() for ip in adapter.ips if ip.is_IPv4 and is_near(ip.ip)
    }
    kept = [each for each in map(ipaddress.ip_address, found) if not each.is_loopback]
    # One that no router gave is the last that a phone should try.
    return [str(each) for each in sorted(kept, key=lambda each: (each.is_link_local, each))]


def certified_hosts(point: MeetingPoint) -> list[str]:
    """Return every name and address by which the book may be asked for over https, and no other."""
    return [point.host, *own_addresses(), "127.0.0.1", "localhost"]


def kept_meeting_point() -> MeetingPoint | None:
    """Return the name and port that phones know, once there are any."""
    try:
        kept = json.loads(_file().read_text("utf-8"))
        return MeetingPoint(str(kept["name"]), int(kept["port"]))
    except (OSError, ValueError, TypeError, KeyError):
        return None


def keep_meeting_point(point: MeetingPoint) -> None:
    """Remember the name and port for the next start."""
    if point != kept_meeting_point():
        replace_file(_file(), json.dumps(asdict(point)).encode())


def phone_addresses() -> list[str]:
    """Return the addresses by which phones reach the book, the name first; none while they are not served."""
    if _served is None:
        return []
    return [f"https://{host}:{_served.port}/" for host in (_served.host, *own_addresses())]


def note_served(point: MeetingPoint | None) -> None:
    """Note by which name and port this process serves phones; None: it does not."""
    global _served
    _served = point


def _file():
    return settings.DATA_DIR / "tls" / "reached.json"
