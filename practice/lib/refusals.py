"""Why something was not saved: the rules that said no, and the form that was asked last.

A view shows a refusal on a page, in words. Who sends a form for somebody else (`practice/project/phone/`)
wants to know it as it is, whatever the view: it listens, and rules and forms tell here.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from practice.lib.errors import RuleBroken
    from practice.lib.forms import BookFields


@dataclass
class Refusals:
    """What was told since somebody began to listen."""

    rules: list[RuleBroken] = field(default_factory=list)
    form: BookFields | None = None

    def code_of(self, message: str) -> str | None:
        """Return the code of the rule that says this; None where no rule does."""
        return next((rule.code for rule in reversed(self.rules) if rule.message == message), None)


_listening: ContextVar[Refusals | None] = ContextVar("refusals", default=None)


@contextmanager
def listening() -> Iterator[Refusals]:
    """Yield what rules and forms tell until the end."""
    refusals = Refusals()
    before = _listening.set(refusals)
    try:
        yield refusals
    finally:
        _listening.reset(before)


def tell_rule(rule: RuleBroken) -> None:
    """Tell who listens that a rule says no."""
    if (refusals := _listening.get()) is not None:
        refusals.rules.append(rule)


def tell_form(form: BookFields) -> None:
    """Tell who listens that a form is asked whether it may be saved."""
    if (refusals := _listening.get()) is not None:
        refusals.form = form
