"""What the materials of visits and horses cost, as the shelf valued them."""

from collections import defaultdict
from decimal import Decimal

from django.db.models import QuerySet, Sum

from practice.lib.fields import ExactField
from practice.models import MaterialReturn, MaterialUse
from stock.models import Valuation


def cost_by(uses: QuerySet[MaterialUse], returns: QuerySet[MaterialReturn], per: str) -> dict[int, Decimal]:
    """Return what these uses cost, less what came back, by the key of `per` (`visit` or `horse`).

    To four decimals, in the practice's currency. What a later receipt corrected of units short is in
    the item's ledger, not here.
    """
    found: dict[int, Decimal] = defaultdict(Decimal)
    for rows in (uses.filter(movement__isnull=False), returns.filter(movement__reversal__isnull=True)):
        whose = dict(rows.values_list("movement", f"{per}_id"))
        costs = (
            Valuation.objects.filter(movement__in=rows.values("movement"))
            .exclude(kind="correction")
            .values_list("movement")
            .annotate(sum=Sum("cost", output_field=ExactField()))
        )
        for movement, cost in costs:
            found[whose[movement]] -= cost
    return dict(found)


def cost_of_visit(visit) -> dict[int, Decimal]:
    """Return what each horse's materials cost at a visit, by the horse's key."""
    return cost_by(visit.materials.all(), visit.returns.all(), "horse")


def cost_of_horse(horse, limit_to: list[int]) -> dict[int, Decimal]:
    """Return what a horse's materials cost at these visits, by the visit's key."""
    return cost_by(
        horse.materials.filter(visit__in=limit_to), horse.returns.filter(visit__in=limit_to), "visit"
    )
