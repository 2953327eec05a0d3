"""TLS before the server: takes https from phones and hands each connection on to waitress.

waitress has no TLS. Here asyncio shakes hands, and passes what comes over a pair of sockets to the same
waitress that serves this machine. So a phone is held to the bounds of `connections.py`, whatever it sends,
and one that is slow holds no thread.
"""

import asyncio
import logging
import socket
import ssl
import threading
from collections import Counter
from collections.abc import Callable
from contextlib import suppress

from practice.project.connections import Patience, most_connections
from practice.project.serving.addresses import is_near

# Each takes three files, and the desk needs some too.
MOST = most_connections() // 4
MOST_OF_ONE = 24  # a browser opens six
PIECE = 64 * 1024
QUIET = 0.5  # seconds without a byte: a client that was refused has stopped sending
FULL_PAUSE = 0.2

log = logging.getLogger("roundbook")


class TlsFront:
    """Serves https on a listening socket, in a thread of its own. `hand_over` takes a socket and an address.

    A new `context` is that of the next connections; open ones keep theirs.
    """

    def __init__(
        self,
        listener: socket.socket,
        context: ssl.SSLContext,
        hand_over: Callable[[socket.socket, tuple[str, int]], None],
        patience: Patience = Patience(),  # noqa: B008
    ):
        self.listener, self.context, self.hand_over, self.patience = listener, context, hand_over, patience
        self.open: Counter[str] = Counter()
        self.loop = asyncio.new_event_loop()
        self.thread = threading.Thread(target=self._run, name="phones", daemon=True)

    def begin(self) -> None:
        self.listener.setblocking(False)
        self.taking = self.loop.create_task(self._take())
        self.thread.start()

    def end(self) -> None:
        """Take no more, and cut what is open."""
        self.loop.call_soon_threadsafe(self.taking.cancel)
        self.thread.join(timeout=1)

    def _run(self) -> None:
        asyncio.set_event_loop(self.loop)
        with suppress(asyncio.CancelledError):
            self.loop.run_until_complete(self.taking)
        self.listener.close()

    async def _take(self) -> None:
        async with asyncio.TaskGroup() as connections:
            while True:
                try:
                    client, address = await self.loop.sock_accept(self.listener)
                except OSError:  # no file is left for it
                    await asyncio.sleep(FULL_PAUSE)
                    continue
                if not self._has_room_for(address[0]):
                    client.close()
                    continue
                self.open[address[0]] += 1
                connections.create_task(self._serve(client, address))

    def _has_room_for(self, address: str) -> bool:
        """Whether to take one more. Only one's own network is served, and no device may take all the room."""
        return is_near(address) and self.open[address] < MOST_OF_ONE and self.open.total() < MOST

    async def _serve(self, client: socket.socket, address: tuple[str, int]) -> None:
        """Serve one connection to its end; whatever it does, the others go on."""
        writer = None
        try:
            # asyncio does this only where a socket names its protocol. Each answer took 40 ms longer.
            client.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            reader = asyncio.StreamReader()
            transport, protocol = await self.loop.connect_accepted_socket(
                lambda: asyncio.StreamReaderProtocol(reader),
                client,
                ssl=self.context,
                ssl_handshake_timeout=self.patience.head,
                ssl_shutdown_timeout=self.patience.refused,
            )
            writer = asyncio.StreamWriter(transport, protocol, reader, self.loop)
            await self._pass_on(reader, writer, address)
        except OSError:  # plain http, a certificate that is not trusted, a phone out of reach
            pass
        except Exception as error:
            log.error("a phone's connection failed", exc_info=error)
        finally:
            if writer:
                writer.close()
            else:
                client.close()
            self.open[address[0]] -= 1
            self.open += Counter()  # forgets those that have none

    async def _pass_on(self, reader, writer, address: tuple[str, int]) -> None:
        near, far = socket.socketpair()
        self.hand_over(far, address)
        answers, questions = await asyncio.open_connection(sock=near)
        try:
            sending = asyncio.create_task(self._copy(answers, writer))
            asking = asyncio.create_task(self._copy(reader, questions))
            try:
                await asyncio.wait([sending, asking], return_when=asyncio.FIRST_COMPLETED)
                is_answered = sending.done() and not asking.done()
            finally:
                await _cancel(sending, asking)
            if is_answered:
                await self._hear_out(reader)
        finally:
            questions.close()

    async def _copy(self, source, target) -> None:
        """Pass on what comes until it ends, or until nobody takes it any more."""
        with suppress(OSError):
            while piece := await source.read(PIECE):
                target.write(piece)
                async with asyncio.timeout(self.patience.kept):
                    await target.drain()

    async def _hear_out(self, reader) -> None:
        """Throw away what still comes: closed at once, a client would not hear why it was refused."""
        with suppress(OSError):
            async with asyncio.timeout(self.patience.refused):
                while await asyncio.wait_for(reader.read(PIECE), QUIET):
                    pass


async def _cancel(*tasks: asyncio.Task) -> None:
    for task in tasks:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)
