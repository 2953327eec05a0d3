"""What takes long to work out, kept by the server until something that it rests on changes."""

from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

from practice.lib.stamps import current_stamp

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


class Kept(Generic[Key, Value]):
    """The last value that `work_out` gave, for the key and the stamp of the book that it was worked out for.

    Kept in memory: nobody may change what comes back. Many who ask at once get what the first one works out.
    """

    def __init__(self, work_out: Callable[[Key], Value]):
        self.work_out, self.turn = work_out, Lock()
        self.held: tuple[tuple, Value] | None = None

    def __call__(self, key: Key) -> Value:
        """Return the value of a key, worked out now unless it is the one that is kept and still holds."""
        held = self.held
        if held and held[0] == (key, current_stamp()):
            return held[1]
        with self.turn:
            stamp = current_stamp()
            if self.held and self.held[0] == (key, stamp):
                return self.held[1]
            value = self.work_out(key)
            # What was read while somebody saved may be of two moments, and is not kept.
            if stamp and stamp == current_stamp():
                self.held = (key, stamp), value
            return value
