"""Making one entry of two that are the same client, horse, place or item, and undoing it within the day."""

from collections.abc import Iterable
from datetime import date, datetime

from django.db import transaction
from django.db.models import Model

from billing.actions.merge_rules import RULES, MergeRules
from billing.rules.merge_words import in_words, thing
from practice.lib.errors import RuleBroken
from practice.lib.merges import Merge
from practice.lib.merging import (
    Relation,
    brought_back,
    move,
    move_back,
    read_back,
    relations_to,
    written_down,
)
from practice.lib.profile import Profile


@transaction.atomic
def merge(kept: Model, taken: Model, *, by: str, at: datetime, today: date) -> Merge:
    """Let `kept` have all that is recorded of `taken`, and delete that entry; return the record of it.

    What both have in their own fields stays as `kept` has it. Raises RuleBroken("same_entry"), and as the
    kind's rules say (`merge_rules.py`); then nothing is changed.
    """
    profile, rules = Profile.locked(), RULES[kept._meta.model_name]
    kept, taken = locked_pair(rules, kept, taken)
    rules.check(kept, taken, today)
    relations = list(relations_to(rules.model, rules.worked_out))
    record = Merge.objects.create(
        kind=rules.kind,
        kept=kept.key,
        taken=taken.key,
        name=str(taken),
        at=at,
        by=by,
        kept_pk=kept.pk,
        taken_pk=taken.pk,
        moving=True,
    )
    known = {
        "taken": written_down([taken]),
        "kept": written_down([kept]),
        "newest": {relation.label: relation.newest() for relation in relations},
        "closed": str(profile.closed_through),
        "left_out": [],
    }
    for rows in rules.left_out(kept, taken):
        if rows.exists():
            known["left_out"].append(written_down(rows))
            rows.delete()
    forget_worked_out(rules, taken)
    known["moved"] = move(relations, taken, kept)
    known |= rules.follow(kept, taken)
    taken.delete()
    take_over(rules, kept, taken)
    known["merged"] = written_down([kept])
    record.moved = in_words(counts(known["moved"]))
    record.to_undo, record.moving = known, False
    record.save()
    return record


def counts(moved: dict[str, list[int]]) -> dict[str, int]:
    """Return how many rows moved, by the name of their model."""
    return {label.split(".")[1]: len(keys) for label, keys in moved.items()}


def locked_pair(rules: MergeRules, kept: Model, taken: Model) -> tuple[Model, Model]:
    """Return both entries as they are now, under a lock. Raises RuleBroken("same_entry"), ("entry_gone")."""
    if kept.pk == taken.pk:
        raise RuleBroken("same_entry", "This is the same entry. Choose the other one.")
    rows = rules.model.objects.select_for_update().filter(pk__in=[kept.pk, taken.pk]).in_bulk()
    if len(rows) < 2:
        raise RuleBroken("entry_gone", "One of the two entries is not there anymore.")
    return rows[kept.pk], rows[taken.pk]


def forget_worked_out(rules: MergeRules, entry: Model) -> None:
    """Delete what was worked out for an entry: it is worked out again for where the rows go."""
    for relation in relations_to(rules.model):
        if relation.model in rules.worked_out:
            relation.rows(entry).delete()


def take_over(rules: MergeRules, kept: Model, taken: Model) -> None:
    """Fill in what `kept` lacks from `taken`, and keep the notes of both."""
    for name in rules.filled:
        if getattr(kept, name) in (None, ""):
            setattr(kept, name, getattr(taken, name))
    for name in rules.joined:
        setattr(kept, name, joined(getattr(kept, name), getattr(taken, name)))
    kept.save()


def joined(first: str, second: str) -> str:
    """Return two notes below each other; one where the other says nothing more."""
    return "\n".join(dict.fromkeys(text for text in (first, second) if text))


@transaction.atomic
def undo_merge(record: Merge, *, at: datetime, today: date) -> Model:
    """Bring back the entry that was merged into another one, with all that moved; return it.

    Raises RuleBroken: `merge_too_old` on another day, `merge_undone`, `entry_gone`, `used_since` where
    something was added to the entry that stayed, and `day_closed` where days were closed since.
    """
    profile = Profile.locked()
    record = Merge.objects.select_for_update().get(pk=record.pk)
    rules = RULES[record.kind]
    relations = list(relations_to(rules.model, rules.worked_out))
    kept = check_undo(record, rules, relations, profile, today)
    known = record.to_undo
    record.moving = True
    record.save(update_fields=["moving"])
    forget_worked_out(rules, kept)
    give_back(rules, kept, known)
    [taken] = brought_back(known["taken"])
    move_back(relations, known["moved"], kept, taken)
    for text in known["left_out"]:
        brought_back(text)
    rules.follow_back(kept, taken, known)
    record.moving, record.undone_at = False, at
    record.save()
    return taken


def check_undo(
    record: Merge, rules: MergeRules, relations: Iterable[Relation], profile: Profile, today: date
) -> Model:
    """Return the entry that stayed, where the merge can be undone. Raises RuleBroken as `undo_merge`."""
    if record.undone_at:
        raise RuleBroken("merge_undone", "This was already undone.")
    if not record.can_be_undone(today):
        raise RuleBroken("merge_too_old", "A merge can be undone only on the day it was made.")
    kept = rules.model.objects.select_for_update().filter(pk=record.kept_pk).first()
    if kept is None:
        raise RuleBroken("entry_gone", "This entry was merged again since. Undo that first.")
    for relation in relations:
        newest = record.to_undo["newest"].get(relation.label, 0)
        if relation.rows(kept).filter(pk__gt=newest).exists():
            words = thing(relation.model._meta.model_name, 2)
            raise RuleBroken(
                "used_since",
                f"Something was added to {kept} since then ({words}), so this cannot be undone anymore.",
            )
    if record.to_undo["closed"] != str(profile.closed_through):
        raise RuleBroken("day_closed", "Days were closed for good since, so this cannot be undone.")
    return kept


def give_back(rules: MergeRules, kept: Model, known: dict) -> None:
    """Take from the entry that stayed what it took over, unless that was changed since."""
    before, merged = read_back(known["kept"]), read_back(known["merged"])
    for name in (*rules.filled, *rules.joined):
        field = kept._meta.get_field(name)
        if getattr(kept, field.attname) == getattr(merged, field.attname):
            setattr(kept, field.attname, getattr(before, field.attname))
    kept.save()
