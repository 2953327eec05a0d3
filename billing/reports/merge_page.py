"""The page on which two entries of one thing become one: which the other may be, and what would move."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Model
from django.utils.text import capfirst

from billing.actions.merge_rules import RULES, MergeRules
from billing.rules.merge_words import in_words
from practice.lib import formats
from practice.lib.errors import RuleBroken
from practice.lib.figures import FigureRow, FigureTable
from practice.lib.list_rows import ListRow
from practice.lib.merging import relations_to
from practice.lib.profile import Profile

SHOWN = 20
NOT_COMPARED = ("id", "uuid", "ref", "archived", "shelf_order")
STAYS, TAKEN_OVER, BOTH = "stays as it is", "taken over", "both are kept"


def may_be_the_same(kept: Model, words: str, address: Callable[[Model], str]) -> list[ListRow]:
    """Return other entries whose name holds these words; without words those with a name like this one."""
    like = words or (kept.name.split() or [""])[0]
    found = type(kept).objects.named(like).exclude(pk=kept.pk).order_by("name", "pk")[:SHOWN]
    return [ListRow(address(row), row.name, more=more_of(row)) for row in found]


def more_of(entry: Model) -> str:
    """Return what tells an entry from another one of the same name."""
    known = ("phone", "email", "address", "area", "place", "breed", "born", "description")
    words = (str(getattr(entry, name, None) or "").split("\n")[0] for name in known)
    return ", ".join(filter(None, [*words, "in the archive" if getattr(entry, "archived", False) else ""]))


@dataclass(frozen=True)
class MergePreview:
    """What comes of a merge: `moves` and `stays_out` count rows in words, `fields` are values that differ.

    `refusal` says why these two stay two, blank where nothing speaks against it.
    """

    kept: Model
    taken: Model
    moves: str
    stays_out: str
    fields: FigureTable | None
    refusal: str


def merge_preview(kept: Model, taken: Model, on: date, profile: Profile) -> MergePreview:
    """Return what would come of letting `kept` have all that is recorded of `taken`."""
    rules = RULES[kept._meta.model_name]
    try:
        rules.check(kept, taken, on)
        refusal = ""
    except RuleBroken as error:
        refusal = str(error)
    left_out = {rows.model._meta.model_name: rows.count() for rows in rules.left_out(kept, taken)}
    moves = {
        relation.model._meta.model_name: relation.rows(taken).count()
        for relation in relations_to(rules.model, rules.worked_out)
    }
    moves |= {name: moves[name] - count for name, count in left_out.items()}
    fields = compared(rules, kept, taken, profile)
    table = FigureTable(("Entry", str(kept), "The other entry", "What happens"), fields) if fields else None
    return MergePreview(kept, taken, in_words(moves), in_words(left_out), table, refusal)


def compared(rules: MergeRules, kept: Model, taken: Model, profile: Profile) -> tuple[FigureRow, ...]:
    """Return the fields in which the other entry says something else, and what becomes of that."""
    rows = []
    for field in kept._meta.concrete_fields:
        own, other = (shown(entry, field, profile) for entry in (kept, taken))
        if field.name in NOT_COMPARED or own == other or not other:
            continue
        what = STAYS
        if field.name in rules.joined and own:
            what = BOTH
        elif field.name in (*rules.filled, *rules.joined) and not own:
            what = TAKEN_OVER
        rows.append(FigureRow(capfirst(field.verbose_name), (own or "–", other, what)))
    return tuple(rows)


def shown(entry: Model, field, profile: Profile) -> str:
    """Return a value of an entry in words; blank for none."""
    value = getattr(entry, field.name)
    if value is None or value == "":
        return ""
    if field.choices:
        return str(getattr(entry, f"get_{field.name}_display")())
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return formats.quantity(value, profile.locale)
    if isinstance(value, date):
        return formats.medium_date(value, profile.locale)
    return str(value)
