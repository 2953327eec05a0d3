"""What the materials of visits and horses cost, as the shelf valued them."""

from collections import defaultdict
from decimal import Decimal

from django.db.models import QuerySet, Sum

from practice.lib.fields import ExactField
from practice.models import MaterialReturn, MaterialUse
from stock.models import Valuation


def cost_by_visit_and_horse(
    uses: QuerySet[MaterialUse], returns: QuerySet[MaterialReturn]
) -> dict[tuple[int, int], Decimal]:
    """Return what these uses cost, less what came back, by the keys of visit and horse.

    To four decimals, in the practice's currency. The correction that a later receipt brings for units that
    were short is in the item's ledger, not here.
    """
    by_horse: dict[tuple[int, int], Decimal] = defaultdict(Decimal)
    for rows in (uses.filter(movement__isnull=False), returns.filter(movement__reversal__isnull=True)):
        whose = {movement: at for movement, *at in rows.values_list("movement", "visit_id", "horse_id")}
        costs = (
            Valuation.objects.filter(movement__in=rows.values("movement"))
            .exclude(kind="correction")
            .values_list("movement")
            .annotate(sum=Sum("cost", output_field=ExactField()))
        )
        for movement, cost in costs:
            visit, horse = whose[movement]
            by_horse[visit, horse] -= cost
    return dict(by_horse)


def cost_of_visit(visit) -> dict[int, Decimal]:
    """Return what each horse's materials cost at a visit, by the horse's key."""
    costs = cost_by_visit_and_horse(visit.materials.all(), visit.returns.all())
    return {horse: cost for (_, horse), cost in costs.items()}


def cost_of_horse(horse, limit_to: list[int]) -> dict[int, Decimal]:
    """Return what a horse's materials cost at these visits, by the visit's key."""
    costs = cost_by_visit_and_horse(
        horse.materials.filter(visit__in=limit_to), horse.returns.filter(visit__in=limit_to)
    )
    return {visit: cost for (visit, _), cost in costs.items()}
