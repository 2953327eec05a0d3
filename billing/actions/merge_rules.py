"""What two entries of a kind have to fulfil to become one, and what follows when they do."""

from dataclasses import dataclass
from datetime import date
from itertools import chain

from django.db.models import Min, Model, QuerySet, Value
from django.db.models.functions import Replace

from billing.actions.settling import is_settled_as_worked_out, resettle_client
from billing.models import AccountDay, BillTo, InvoiceLine, Price
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import (
    Client,
    Finding,
    FootRecord,
    Horse,
    HorseTime,
    MaterialReturn,
    MaterialUse,
    Owner,
    Photo,
    Place,
    Visit,
    Work,
)
from stock.actions.valuing import value_items
from stock.models import (
    Balance,
    Checkpoint,
    Found,
    Item,
    Movement,
    MovementKind,
    OrderLine,
    Shelf,
    Valuation,
)


@dataclass(frozen=True)
class MergeRules:
    """How entries of one model become one.

    `filled` are fields that the entry which stays takes over where it has nothing, `joined` those whose text
    is kept of both. What is `worked_out` is not moved but worked out again.
    """

    model: type[Model]
    filled: tuple[str, ...] = ()
    joined: tuple[str, ...] = ("notes",)
    worked_out: tuple[type[Model], ...] = ()

    @property
    def kind(self) -> str:
        return self.model._meta.model_name

    def check(self, kept: Model, taken: Model, today: date) -> None:
        """Raise RuleBroken where the two cannot become one."""

    def left_out(self, kept: Model, taken: Model) -> list[QuerySet]:
        """Return the rows of `taken` that `kept` has its own of: they do not move."""
        return [special_prices(kept, taken)]

    def follow(self, kept: Model, taken: Model) -> dict:
        """Do what the moved rows ask for; return what undoing it has to know."""
        return {}

    def follow_back(self, kept: Model, taken: Model, known: dict) -> None:
        """Do what the rows that moved back ask for."""


def special_prices(kept: Model, taken: Model) -> QuerySet:
    """Return the special prices of `taken` for what `kept` has a special price of, too."""
    name = kept._meta.model_name
    own, others = Price.objects.filter(**{name: kept}), Price.objects.filter(**{name: taken})
    same = own.filter(service__isnull=False).values("service"), own.filter(item__isnull=False).values("item")
    return others.filter(service__in=same[0]) | others.filter(item__in=same[1])


class ClientRules(MergeRules):
    def check(self, kept: Client, taken: Client, today: date) -> None:
        shares: dict[int, list[Owner]] = {}
        for owner in Owner.objects.filter(client__in=[kept, taken]).select_related("horse"):
            if owner.valid_to is None or owner.valid_to >= today:
                shares.setdefault(owner.horse_id, []).append(owner)
        for owners in shares.values():
            if len({owner.client_id for owner in owners}) > 1:
                horse = owners[0].horse
                raise RuleBroken(
                    "both_own_a_share",
                    f"Both entries own a share of {horse}. Change the owners of {horse} first, so that one of"
                    " the two has the whole share.",
                )

    def follow(self, kept: Client, taken: Client) -> dict:
        resettle_client(kept)
        if Profile.current().closed_through and not is_settled_as_worked_out(kept, anew=True):
            raise settled_in_closed_days()
        return {}

    def follow_back(self, kept: Client, taken: Client, known: dict) -> None:
        for client in (kept, taken):
            resettle_client(client)


def settled_in_closed_days() -> RuleBroken:
    return RuleBroken(
        "settled_in_closed_days",
        "As one account, payments on days that are closed for good would have settled different invoices."
        " These entries stay separate.",
    )


class HorseRules(MergeRules):
    def check(self, kept: Horse, taken: Horse, today: date) -> None:
        visits = [visits_of(horse) for horse in (kept, taken)]
        if both := visits[0] & visits[1]:
            visit = Visit.objects.select_related("place").filter(pk__in=both).order_by("date", "pk")[0]
            raise RuleBroken(
                "both_at_a_stop",
                f"Both entries have something recorded at {visit.place} on {visit.date.isoformat()}, so they"
                " may be two horses. If they are one, take one of them off that stop first.",
            )

    def left_out(self, kept: Horse, taken: Horse) -> list[QuerySet]:
        rows = [special_prices(kept, taken)]
        for model in (Owner, BillTo):
            if model.objects.filter(horse=kept).exists():
                rows.append(model.objects.filter(horse=taken))
        return rows

    def follow(self, kept: Horse, taken: Horse) -> dict:
        jobs = list(Movement.objects.filter(job__endswith=f"/{taken.pk}").values_list("pk", flat=True))
        rename_jobs(Movement.objects.filter(job__endswith=f"/{taken.pk}"), taken, kept)
        return {"jobs": jobs}

    def follow_back(self, kept: Horse, taken: Horse, known: dict) -> None:
        keys = known["jobs"]
        for first in range(0, len(keys), 500):
            rename_jobs(Movement.objects.filter(pk__in=keys[first : first + 500]), kept, taken)


def visits_of(horse: Horse) -> set[int]:
    """Return the keys of the visits at which anything is recorded of a horse."""
    models = (Work, MaterialUse, MaterialReturn, Finding, FootRecord, HorseTime, Photo, InvoiceLine)
    rows = [model.objects.filter(horse=horse).values_list("visit", flat=True) for model in models]
    return set(chain.from_iterable(rows)) - {None}


def rename_jobs(movements: QuerySet[Movement], before: Horse, after: Horse) -> None:
    """Let facts of stock belong to the other horse at their visits, and work their items out again."""
    items = set(movements.values_list("item", flat=True))
    movements.update(job=Replace("job", Value(f"/{before.pk}"), Value(f"/{after.pk}")))
    value_items(items)


class ItemRules(MergeRules):
    def check(self, kept: Item, taken: Item, today: date) -> None:
        if (kept.unit, kept.kind) != (taken.unit, taken.kind):
            words = [f"{item.get_kind_display().lower()}, in {item.unit}" for item in (kept, taken)]
            raise RuleBroken(
                "not_the_same_item",
                f"One is {words[0]}, the other {words[1]}. Only entries of one kind and unit can become one.",
            )
        self._check_lists(kept, taken)
        self._check_ledgers(kept, taken)

    def _check_lists(self, kept: Item, taken: Item) -> None:
        if Found.objects.filter(item__in=[kept, taken]).exists():
            raise RuleBroken(
                "on_a_count_sheet",
                "A count of one of them is not posted yet. Post it or clear it first.",
            )
        orders = OrderLine.objects.filter(item=taken, order__lines__item=kept).select_related("order")
        if line := orders.first():
            raise RuleBroken(
                "both_on_an_order",
                f"Both are on the order of {line.order.ordered_on.isoformat()}, so they stay separate.",
            )

    def _check_ledgers(self, kept: Item, taken: Item) -> None:
        """Where only one of them ever moved, its ledger goes over as it is."""
        ledgers = [Movement.objects.filter(item=item) for item in (kept, taken)]
        firsts = [ledger.aggregate(on=Min("date"))["on"] for ledger in ledgers]
        if None in firsts:
            return
        profile, both = Profile.current(), Movement.objects.filter(item__in=[kept, taken])
        if profile.closed_through and both.filter(date__lte=profile.closed_through).exists():
            raise RuleBroken(
                "day_closed",
                f"Stock of one of them moved on days that are closed for good (through"
                f" {profile.closed_through.isoformat()}), and what it cost there stays. Archive the entry"
                " that you do not need.",
            )
        counts = both.standing().filter(kind=MovementKind.COUNT, date__gte=max(firsts))
        if count := counts.select_related("item").order_by("date", "pk").first():
            raise RuleBroken(
                "counted_apart",
                f"{count.item} was counted by itself on {count.date.isoformat()}, while the other one was on"
                " hand, too. That count would be taken for both together. Count one of them as 0 and the"
                " other one as all there is, then archive the first.",
            )

    def left_out(self, kept: Item, taken: Item) -> list[QuerySet]:
        prices = Price.objects.filter(item=taken)
        return [prices] if Price.objects.filter(item=kept).exists() else []

    def follow(self, kept: Item, taken: Item) -> dict:
        value_items([kept.pk])
        return {}

    def follow_back(self, kept: Item, taken: Item, known: dict) -> None:
        value_items([kept.pk, taken.pk])


RULES: dict[str, MergeRules] = {
    rules.kind: rules
    for rules in (
        ClientRules(Client, ("email", "phone", "address"), worked_out=(AccountDay,)),
        HorseRules(Horse, ("place", "born", "breed"), ("cautions", "notes")),
        MergeRules(Place, ("address", "phone", "gate_code")),
        ItemRules(
            Item,
            ("pattern", "size", "material", "clips", "supplier"),
            (),
            (Valuation, Shelf, Checkpoint, Balance),
        ),
    )
}
