"""The name that stays: announces `roundbook.local` in one's own network (multicast DNS, RFC 6762)."""

import logging
import socket

from zeroconf import AddressResolverIPv4, Error, IPVersion, ServiceInfo, Zeroconf

from practice.project.serving.addresses import MeetingPoint

KIND = "_https._tcp.local."
MOST_NAMES = 20
ASK_MS = 500

log = logging.getLogger("roundbook")


class LocalName:
    """Answers to a name in the network of some addresses of this machine, until it is closed.

    `name` is the wished one, or one like it where another machine has that; blank where there is no network.
    """

    def __init__(self, wished: MeetingPoint, addresses: list[str]):
        self.name = ""
        self.zeroconf: Zeroconf | None = None
        if not addresses:
            return
        try:
            self.zeroconf = Zeroconf(interfaces=list(addresses), ip_version=IPVersion.V4Only)
            self.name = self._free_name(wished.name)
            self.zeroconf.register_service(_announcement(self.name, wished.port, addresses))
        except (OSError, Error) as error:
            log.warning("no name in the network: %s", error)
            self.name = ""
            self.close()

    def close(self) -> None:
        """Say goodbye to the network."""
        if self.zeroconf:
            self.zeroconf.close()
            self.zeroconf = None

    def _free_name(self, wished: str) -> str:
        """Return the wished name, or the first like it that nobody answers to."""
        stem = wished.rstrip("0123456789").rstrip("-")
        others = (f"{stem}-{number}" for number in range(2, MOST_NAMES))
        return next((name for name in (wished, *others) if not self._is_taken(name)), wished)

    def _is_taken(self, name: str) -> bool:
        return AddressResolverIPv4(f"{name}.local.").request(self.zeroconf, ASK_MS)


def _announcement(name: str, port: int, addresses: list[str]) -> ServiceInfo:
    packed = [socket.inet_aton(address) for address in addresses]
    return ServiceInfo(KIND, f"{name}.{KIND}", addresses=packed, port=port, server=f"{name}.local.")
