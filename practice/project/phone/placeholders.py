"""Rows that were made on a phone: `~UUID` in a path or a value, until the server knows their keys."""

import re
from dataclasses import replace
from uuid import UUID

from django.apps import apps

from practice.lib.rows import Identified
from practice.models import PhoneEntry
from practice.project.phone.sent import SentEntry

PLACEHOLDER = re.compile(r"~([0-9a-f]{32})(?![0-9a-f])")


class NotThere(Exception):
    """The row of a placeholder is not in the book; `waits_for` is the entry that adds it, to settle first."""

    def __init__(self, waits_for: PhoneEntry | None):
        super().__init__()
        self.waits_for = waits_for


def with_keys(entry: SentEntry) -> SentEntry:
    """Return an entry with the keys of the rows that it names. Raises NotThere where one is missing."""
    fields = tuple((name, with_keys_in(value)) for name, value in entry.fields)
    return replace(entry, path=with_keys_in(entry.path), fields=fields)


def with_keys_in(text: str) -> str:
    return PLACEHOLDER.sub(lambda found: str(key_of(UUID(found[1]))), text) if "~" in text else text


def key_of(uuid: UUID) -> int:
    """Return the key of the row with this UUID, of whatever kind. Raises NotThere."""
    for model in apps.get_models():
        if issubclass(model, Identified) and (key := model.objects.filter(uuid=uuid).values("pk").first()):
            return key["pk"]
    raise NotThere(PhoneEntry.objects.to_settle().filter(uuid=uuid).first())
