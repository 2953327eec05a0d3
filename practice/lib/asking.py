"""What a form asks before it saves: whose values are to stay, and whether what is odd is right.

The values of a form are compared as text, the way its fields show them.
"""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, time
from typing import Any

from django import forms
from django.core import signing

SALT = "practice.lib.asking"
BLANK, SEVERAL = "Blank", ", "


@dataclass(frozen=True)
class Odd:
    """Something that is possible but odd about a field of a form: what it is, and the question to ask."""

    code: str
    field: str
    message: str


@dataclass(frozen=True)
class Clash:
    """A field that someone else changed while the form was open: what is saved now, and what was typed.

    `is_untouched`: the reader left the field as it was, so what is saved now stands in it.
    """

    label: str
    saved: str
    typed: str
    is_untouched: bool


def odd_times(code: str, field: str, times: int | None, what: str, about: str = "") -> Iterator[Odd]:
    """Yield the question about a value that is so many times what it is compared with; none for None.

    `That is 40 times what is owed. Is it right?`, with `about` before it where a form has many such fields.
    """
    if times is not None:
        words = f"{about}: that" if about else "That"
        yield Odd(code, field, f"{words} is {times} times {what}. Is it right?")


def as_text(field: forms.Field, value: Any) -> str:
    """Return a value as the field shows it, blank for nothing. A checked box is `True`."""
    if isinstance(field, forms.BooleanField):
        return "True" if field.to_python(value) else ""
    value = field.prepare_value(value)
    if isinstance(value, list | tuple):
        return SEVERAL.join(sorted(map(str, value)))
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return f"{value:%H:%M}"
    return "" if value is None else str(value).replace("\r\n", "\n").strip()


def in_words(field: forms.Field, text: str) -> str:
    """Return what `as_text` gave as a reader says it: the name of a choice, `Yes`, `Blank`."""
    if isinstance(field, forms.BooleanField):
        return "Yes" if text else "No"
    if isinstance(field, forms.MultipleChoiceField | forms.ModelMultipleChoiceField):
        chosen = text.split(SEVERAL)
        return "; ".join(str(name) for key, name in field.choices if str(key) in chosen) or BLANK
    if isinstance(field, forms.ChoiceField):
        for value, label in field.choices:
            pairs = label if isinstance(label, list | tuple) else [(value, label)]
            for key, name in pairs:
                if str(key) == text:
                    return str(name)
    return text or BLANK


def seal(state: dict[str, str]) -> str:
    """Return the values that a form was opened on, signed, as the page carries them."""
    return signing.dumps(state, salt=SALT, compress=True)


def unseal(token: str) -> dict[str, str]:
    """Return the values that `seal` signed; none where the token is not one of ours."""
    try:
        return signing.loads(token, salt=SALT)
    except signing.BadSignature:
        return {}


def tick_for(odd: list[Odd], typed: dict[str, str]) -> str:
    """Return what the tick says that answers these questions: another one for another odd value."""
    parts = [f"{row.code}\n{row.field}\n{typed.get(row.field, '')}\n{row.message}" for row in odd]
    return hashlib.sha256("\n\n".join(parts).encode()).hexdigest()[:32]
