"""Saves what a phone recorded over what changed meanwhile, and says that what is odd about it is right."""

from collections.abc import Iterator
from dataclasses import replace

from django.http import HttpRequest

from practice.lib.forms import BookFields
from practice.lib.presses import FIELD
from practice.project.phone.replay import ReplayOutcome, replay
from practice.project.phone.sent import SentEntry

# A form asks about what changed, then about what is odd.
MOST_QUESTIONS = 4


def replay_answered(request: HttpRequest, entry: SentEntry, *, only_try: bool = False) -> ReplayOutcome:
    """Send an entry to its view with every question answered by yes; what it may not do stays refused."""
    outcome = replay(request, entry, only_try=only_try)
    for _ in range(MOST_QUESTIONS):
        if outcome.is_saved or not outcome.asks:
            break
        entry = replace(entry, fields=tuple(answered(outcome.form)))
        outcome = replay(request, entry, only_try=only_try)
    return outcome


def answered(form: BookFields) -> Iterator[tuple[str, str]]:
    """Give what was posted with the answers to what the form asks.

    A field that was left alone follows what is saved, as its form has it in its data by then.
    """
    answers = {}
    if form.clashes:
        name, value = getattr(form, "mine", None) or (form.opened_name, form.opened)
        answers[name] = value
    if form.asked:
        answers[form.tick_name] = form.tick
    for name, values in form.data.lists():
        if name not in answers and name != FIELD:
            for value in values:
                yield name, value
    yield from answers.items()
