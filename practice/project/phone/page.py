"""The page of an entry that is to settle: what the phone says, what the book has, what can become of it."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.http import HttpRequest
from django.utils import timezone

from practice.lib import formats
from practice.lib.asking import Clash
from practice.lib.list_rows import ListRow
from practice.models import PhoneEntry, Visit
from practice.project.button_addresses import page_above
from practice.project.phone.answering import replay_answered
from practice.project.phone.placeholders import NotThere, with_keys_in
from practice.project.phone.replay import ReplayOutcome, replay
from practice.project.phone.settling import (
    CANCELED,
    FIXED,
    WORK_OF_A_STOP,
    as_sent,
    entries_of_stop,
    stop_of,
)

# What carries the state of a form, and says nothing to a reader.
CARRIED = ("opened", "mine", "right", "began", "at")
LONGEST_SHOWN = 400
NOTHING_AGAINST = "It can be saved now."


@dataclass(frozen=True)
class SettleChoice:
    """A press that settles an entry: what is posted, the button, and what follows in a sentence."""

    how: str
    label: str
    what: str


@dataclass(frozen=True)
class SettlePage:
    """An entry that is to settle. `pictures` are the numbers of its files; `in_book` the page it is about."""

    entry: PhoneEntry
    recorded: str
    why: str
    said: list[tuple[str, str]]
    clashes: list[Clash]
    pictures: list[int]
    choices: list[SettleChoice]
    can_open: bool
    in_book: str


def settle_page(request: HttpRequest, kept: PhoneEntry, locale: str) -> SettlePage:
    """Return the page of an entry, which is tried on the book as it is now: nothing of that stays."""
    sent = as_sent(kept)
    outcome = replay(request, sent, only_try=True)
    return SettlePage(
        entry=kept,
        recorded=recorded_in_words(kept, locale),
        why=NOTHING_AGAINST if outcome.is_saved else outcome.message,
        said=said_by(kept, outcome),
        clashes=outcome.form.clashes if outcome.form else [],
        pictures=list(range(1, len(kept.files) + 1)),
        choices=list(choices(request, kept, outcome)),
        can_open=outcome.page is not None,
        in_book=page_in_book(kept),
    )


def choices(request: HttpRequest, kept: PhoneEntry, outcome: ReplayOutcome) -> Iterable[SettleChoice]:
    """Give the presses that fit, the one that is meant most in front."""
    may_be_saved = outcome.is_saved or (
        outcome.asks and replay_answered(request, as_sent(kept), only_try=True).is_saved
    )
    if may_be_saved:
        what = "It is saved as it was recorded." if outcome.is_saved else "It is right as it was recorded."
        yield SettleChoice("save", "Save it now", what)
    at = stop_of(kept)
    if at is None or at.view_name not in WORK_OF_A_STOP:
        return
    if outcome.code in FIXED:
        yield _further_stop(kept, at.visit)
    if outcome.code == CANCELED:
        what = f"{at.visit.place} goes back on the round, and this is saved there."
        yield SettleChoice("again", "Plan the stop again", what)


def _further_stop(kept: PhoneEntry, visit: Visit) -> SettleChoice:
    what = (
        f"A further stop at {visit.place} takes this work. It goes on a further invoice when you close the"
        " day again; the drive is not charged twice."
    )
    if others := len(entries_of_stop(kept, visit)) - 1:
        what += f" {formats.counted(others, 'other entry', 'other entries')} of this stop will go along."
    return SettleChoice("further", "Bill it as a further stop", what)


def said_by(kept: PhoneEntry, outcome: ReplayOutcome) -> list[tuple[str, str]]:
    """Return what the phone says, in the words of its form; without one the fields as they were sent."""
    if outcome.form is not None:
        return list(outcome.form.typed_in_words().items())
    return [
        (name.replace("_", " ").capitalize(), value)
        for name, value in kept.fields
        if value and name not in CARRIED and len(value) <= LONGEST_SHOWN
    ]


def page_in_book(kept: PhoneEntry) -> str:
    """Return the address of what an entry is about; blank where that is not in the book."""
    try:
        return page_above(with_keys_in(kept.path).partition("?")[0])
    except NotThere:
        return ""


def row_of(kept: PhoneEntry, locale: str, url: str) -> ListRow:
    return ListRow(url, str(kept), f"{recorded_in_words(kept, locale)}. {kept.message}")


def recorded_in_words(kept: PhoneEntry, locale: str) -> str:
    return f"Recorded {formats.stamp(timezone.localtime(kept.at), locale)} by {kept.login}"
