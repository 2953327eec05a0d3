"""What a phone sends of its store: entries as JSON, with their files beside it."""

import json
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from urllib.parse import urlsplit
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, QueryDict

from practice.lib.characters import FORBIDDEN, forbidden_in
from practice.lib.presses import FIELD
from practice.models import PhoneEntry

LONGEST_PATH, LONGEST_TITLE, LONGEST_LOGIN = 2000, 300, 150
MOST_FIELDS = 2000
# The earliest moment that a clock which stands wrong may name.
LONG_AGO = timedelta(days=366)


class NotEntries(ValueError):
    """What was sent is nothing that a phone's store holds."""


@dataclass(frozen=True)
class SentEntry:
    """A form as it was recorded: its press, by whom, when by the server's clock, where to, what it says."""

    uuid: UUID
    login: str
    at: datetime
    path: str
    title: str
    fields: tuple[tuple[str, str], ...]
    files: tuple[tuple[str, UploadedFile], ...] = ()

    def posted(self) -> QueryDict:
        """Return the fields as a browser posts them, with the press."""
        data = QueryDict(mutable=True)
        for name, value in self.fields:
            data.appendlist(name, value)
        data[FIELD] = self.uuid.hex
        return data

    def with_values(self, **values: str) -> "SentEntry":
        """Return the entry with these fields instead of those of the same names; None leaves one out."""
        kept = [(name, value) for name, value in self.fields if name not in values]
        added = [(name, value) for name, value in values.items() if value is not None]
        return replace(self, fields=(*kept, *added))


def read_entries(request: HttpRequest, now: datetime) -> list[SentEntry]:
    """Return the entries of a request, in order. Raises NotEntries where it holds anything else."""
    try:
        sent = json.loads(request.POST.get("entries", ""))
        phone_now = moment_of(sent["now"])
        return [_entry(each, now, phone_now, request) for each in sent["entries"]]
    except (KeyError, TypeError, ValueError, OverflowError, RecursionError) as error:
        raise NotEntries(str(error)) from None


def moment_of(milliseconds: float) -> datetime:
    """Return the moment that a browser's `Date.now()` says."""
    return datetime.fromtimestamp(milliseconds / 1000, UTC)


def as_a_browser_posts(text: str) -> str:
    """Return a text with the line ends that a browser posts, and without what no book can hold."""
    return FORBIDDEN.sub("", text).replace("\r\n", "\n").replace("\r", "\n").replace("\n", "\r\n")


def _entry(each: dict, now: datetime, phone_now: datetime, request: HttpRequest) -> SentEntry:
    uuid = UUID(hex=each["uuid"])
    ago = phone_now - moment_of(each["at"])  # whatever the phone's clock says, it went on as this one did
    fields = [
        (as_a_browser_posts(str(name)), as_a_browser_posts(str(value))) for name, value in each["fields"]
    ]
    files = [
        (str(name), request.FILES[f"{each['uuid']}.{number}"])
        for number, name in enumerate(each.get("files", ()))
    ]
    path, title = str(each["path"]), FORBIDDEN.sub("", str(each["title"]))[:LONGEST_TITLE]
    if len(path) > LONGEST_PATH or len(fields) > MOST_FIELDS or not _is_path(path):
        raise NotEntries(path)
    return SentEntry(
        uuid=uuid,
        login=FORBIDDEN.sub("", str(each["login"]))[:LONGEST_LOGIN],
        at=now - min(max(ago, timedelta(0)), LONG_AGO),
        path=path,
        title=title,
        fields=tuple(fields),
        files=tuple(files),
    )


def _is_path(path: str) -> bool:
    """Whether it is an address of this server alone."""
    parts = urlsplit(path)
    return path.startswith("/") and not parts.netloc and not parts.scheme and not forbidden_in(path)


def entry_of(kept: PhoneEntry, files: tuple[tuple[str, UploadedFile], ...] = ()) -> SentEntry:
    """Return an entry that is to settle as it was sent."""
    fields = tuple((name, value) for name, value in kept.fields)
    return SentEntry(kept.uuid, kept.login, kept.at, kept.path, kept.title, fields, files)
