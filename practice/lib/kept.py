"""What takes long to work out, kept by the server until something that it rests on changes."""

from collections.abc import Callable, Hashable, Iterable
from threading import Lock
from typing import Generic, TypeVar

from django.db.models import Model

from practice.lib.stamps import stamps_of

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


class Kept(Generic[Key, Value]):
    """The last value that `work_out` gave, for the key and the stamps of the tables that it rests on.

    Kept in memory: nobody may change what comes back. Many who ask at once get what the first one works out.
    """

    def __init__(self, work_out: Callable[[Key], Value], rests_on: Iterable[type[Model]]):
        self.work_out, self.turn = work_out, Lock()
        self.tables = {model._meta.db_table for model in rests_on}
        self.held: tuple[tuple, Value] | None = None

    def __call__(self, key: Key) -> Value:
        """Return the value of a key, worked out now unless it is the one that is kept and still holds."""
        held = self.held
        if held and held[0] == (key, stamps_of(self.tables)):
            return held[1]
        with self.turn:
            stamps = stamps_of(self.tables)
            if self.held and self.held[0] == (key, stamps):
                return self.held[1]
            value = self.work_out(key)
            # What was read while somebody saved may be of two moments, and is not kept.
            if stamps and stamps == stamps_of(self.tables):
                self.held = (key, stamps), value
            return value
