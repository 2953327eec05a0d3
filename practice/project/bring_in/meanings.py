"""What a spreadsheet can bring in: the kinds of thing, and what a column of each may mean."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from django.utils.text import capfirst

from practice.lib import formats

DECIMAL = re.compile(r"-?[0-9]+\.[0-9]+")


@dataclass(frozen=True)
class Meaning:
    """What a column holds: its label, the headings that people give it, and a word about it with examples.

    `joined_by`: several columns may have this meaning; that is what stands between their values.
    """

    code: str
    label: str
    headings: str  # with commas between
    about: str
    examples: tuple[str, ...] = ("", "", "")
    joined_by: str | None = None


NOTES = Meaning(
    "notes",
    "Notes",
    "notes, note, comment, comments, remarks, memo",
    "Anything else worth knowing.",
    joined_by="\n",
)


@dataclass(frozen=True)
class SheetKind:
    """A kind of thing that a sheet brings in, one a row. `needs`: one column of each group has to be there.

    `same`: whether a name that the book has already is the same thing, so that what to do then is asked.
    """

    code: str
    one: str
    many: str
    title: str
    lead: str
    meanings: tuple[Meaning, ...]
    needs: tuple[tuple[str, ...], ...]
    then: str  # the name of the address that shows what came in
    same: bool = True
    note: str = ""

    @property
    def short_title(self) -> str:
        """The title without its verb: `Horses`."""
        return capfirst(self.title.removeprefix("Bring in "))

    def meaning(self, code: str) -> Meaning:
        """Return the meaning of this code. Raises KeyError for one that this kind does not have."""
        return self._by_code[code]

    @cached_property
    def _by_code(self) -> dict[str, Meaning]:
        return {meaning.code: meaning for meaning in self.meanings}

    def has(self, code: str) -> bool:
        return code in self._by_code

    def lacking(self, chosen: Sequence[str]) -> list[str]:
        """Return the labels of what has to be there and is not among the chosen codes."""
        return [self.meaning(group[0]).label for group in self.needs if not set(group) & set(chosen)]

    def examples(self, codes: Iterable[str], locale: str) -> list[list[str]]:
        """Return the rows of examples: a text for each of these columns, numbers in the locale."""
        columns = [self.meaning(code).examples for code in codes]
        return [[_as_typed(text, locale) for text in row] for row in zip(*columns, strict=True)]


def _as_typed(text: str, locale: str) -> str:
    return formats.for_a_field(Decimal(text), locale) if DECIMAL.fullmatch(text) else text
