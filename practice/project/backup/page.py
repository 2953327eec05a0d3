"""What the pages of backups say: how old the newest is, what is in each, what restoring one takes out."""

from dataclasses import dataclass
from datetime import date

from django.conf import settings
from django.urls import reverse

from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.project.backup.inside import BookCounts, BookRows
from practice.project.backup.kept import (
    BEFORE_RESTORE,
    BEFORE_UPDATE,
    DAILY,
    OF_DEMO,
    KeptCopy,
    newest_copy,
)
from practice.project.backup.state import BackupState, backup_state
from practice.project.room import in_megabytes

# Home says so when the newest backup is older, or the second folder has gone longer without one.
OLD_DAYS, SECOND_OLD_DAYS = 2, 7
MADE = {
    DAILY: "{}",
    BEFORE_RESTORE: "{}, before a restore",
    BEFORE_UPDATE: "{}, before an update",
    OF_DEMO: "{}, the demo practice",
}
# What is counted, in the words of a page.
NOUNS = {
    "clients": "client",
    "horses": "horse",
    "visits": "stop",
    "invoices": "invoice",
    "payments": "payment",
}


def age(made: date, today: date) -> str:
    """Return how old a backup is: `today`, `yesterday`, `3 days old`."""
    days = max((today - made).days, 0)
    return {0: "today", 1: "yesterday"}.get(days) or f"{days} days old"


def when(copy: KeptCopy, profile: Profile, today: date) -> str:
    """Return when a backup was made: `Fri, Nov 27, 7:42 AM`."""
    day = formats.short_date(copy.made.date(), profile.locale, today)
    return f"{day}, {formats.clock(copy.made.time(), profile.locale)}"


def in_words(counts: BookCounts | None, profile: Profile, today: date) -> str:
    """Return what is in a backup in one line."""
    if counts is None:
        return "Open it to see what is in it"
    listed = [(name, noun) for name, noun in NOUNS.items() if name != "payments"]
    words = [formats.counted(getattr(counts, name), noun) for name, noun in listed]
    if counts.last_day:
        last = formats.brief_date(date.fromisoformat(counts.last_day), profile.locale, today)
        words.append(f"last stop {last}")
    if counts.practice != profile.name:
        words.insert(0, counts.practice or "No practice entered")
    return ", ".join(words)


def what_to_look_at(today: date) -> str:
    """Return what home says about backups, in sentences; blank where all is well."""
    state, newest = backup_state(), newest_copy()
    sentences = []
    if state.problem:
        sentences.append(f"The last backup failed. {state.problem}")
    if newest and (today - newest.made.date()).days > OLD_DAYS:
        sentences.append(f"The newest backup is {age(newest.made.date(), today)}.")
    if not newest and not state.problem and _days_since_the_start(today) > OLD_DAYS:
        sentences.append("This book has never been backed up.")
    if state.second_problem and _second_is_old(state, today):
        sentences.append(f"The newest backups are missing from the second folder. {state.second_problem}")
    return " ".join(sentences)


def _days_since_the_start(today: date) -> int:
    """Return how many days ago the data folder was begun, by the secret key in it."""
    try:
        begun = (settings.DATA_DIR / "secret_key").stat().st_mtime
    except OSError:
        return 0
    return (today - date.fromtimestamp(begun)).days


def _second_is_old(state: BackupState, today: date) -> bool:
    if not state.second_day:
        return True
    return (today - date.fromisoformat(state.second_day)).days > SECOND_OLD_DAYS


@dataclass(frozen=True)
class BackupList:
    """The page of all backups, the newest first."""

    profile: Profile
    today: date
    copies: list[KeptCopy]
    state: BackupState

    @property
    def answer(self) -> str:
        newest = next((copy for copy in self.copies if copy.kind == DAILY), None)
        if newest is None:
            return "No backup yet."
        made = newest.made.date()
        if made == self.today:
            return f"Backed up today at {formats.clock(newest.made.time(), self.profile.locale)}."
        return f"Last backed up {formats.full_date(made, self.profile.locale, self.today)}."

    @property
    def problem(self) -> str:
        return f"The last backup failed. {self.state.problem}" if self.state.problem else ""

    @property
    def rows(self) -> list[ListRow]:
        return [
            ListRow(
                reverse("backup-detail", args=[copy.name]),
                MADE[copy.kind].format(when(copy, self.profile, self.today)),
                more=in_words(copy.counts, self.profile, self.today),
                fact=in_megabytes(copy.size),
                note=age(copy.made.date(), self.today),
            )
            for copy in self.copies
        ]

    @property
    def second_label(self) -> str:
        return "Change" if self.state.second else "Name a folder"

    @property
    def second(self) -> str:
        """Where else copies are written, and how far that got, in sentences."""
        state = self.state
        if not state.second:
            return "No second folder yet. If this computer breaks or is stolen, its backups are gone with it."
        words = [f"Copies are also kept in {state.second}."]
        if state.second_problem:
            words = [state.second_problem, "Missing backups are copied there once it is back."]
        if state.second_day:
            day = date.fromisoformat(state.second_day)
            shown = formats.full_date(day, self.profile.locale, self.today)
            words.append(f"The newest one there is from {shown}.")
        return " ".join(words)


@dataclass(frozen=True)
class BackupLook:
    """A look at one backup: what is in it, and what restoring it would take out of the book."""

    profile: Profile
    today: date
    copy: KeptCopy
    inside: BookRows | None  # None where it cannot be read
    here: BookRows
    version: str = ""
    refusal: str = ""  # why it cannot be restored

    @property
    def when(self) -> str:
        day = formats.full_date(self.copy.made.date(), self.profile.locale, self.today)
        return f"{day}, {formats.clock(self.copy.made.time(), self.profile.locale)}"

    @property
    def title(self) -> str:
        return MADE[self.copy.kind].format(f"Backup, {self.when}")

    @property
    def answer(self) -> str:
        if self.refusal:
            return "This backup cannot be restored here."
        if not self.lost:
            return "Nothing was added since this backup."
        return f"Restoring it removes {formats.listed(self.lost)} added since."

    @property
    def lead(self) -> str:
        return self.refusal or "Checked just now: the backup is whole."

    @property
    def lost(self) -> list[str]:
        """What was added to the book since, counted."""
        beyond = self.here.beyond(self.inside)
        return [formats.counted(beyond[name], noun) for name, noun in NOUNS.items() if beyond[name]]

    @property
    def facts(self) -> list[tuple[str, str]]:
        """What is in it: what, and how many."""
        size = ("Size", in_megabytes(self.copy.size))
        if self.inside is None:
            return [size]
        counts = self.inside.counts
        rows = [("Practice", counts.practice or "None entered")]
        for name, noun in NOUNS.items():
            rows.append(
                (f"{noun}s".capitalize(), formats.quantity(getattr(counts, name), self.profile.locale))
            )
        if counts.last_day:
            day = date.fromisoformat(counts.last_day)
            rows.append(("Last stop done", formats.full_date(day, self.profile.locale, self.today)))
        return [*rows, size, ("Made by", f"Roundbook {self.version}")]

    @property
    def seal(self) -> str:
        """What the tick below it is sent with, so that what is restored is what was looked at."""
        return seal_of(self.copy)


def seal_of(copy: KeptCopy) -> str:
    return f"{copy.name}/{copy.size}"
