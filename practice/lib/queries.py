"""Pieces of SQL that several apps share."""

from django.db.models import OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from practice.lib.fields import ExactField, exact


def sum_of(rows: QuerySet, field: str, *, per: str):
    """Return an annotation: the sum of `field` over the rows whose `per` is the outer row, 0 if none.

    Two Sums over two child tables multiply each other's rows; a subquery of its own does not.
    """
    total = (
        rows.filter(**{per: OuterRef("pk")})
        .order_by()
        .values(per)
        .annotate(_sum=Sum(field, output_field=ExactField()))
        .values("_sum")
    )
    return Coalesce(Subquery(total, output_field=ExactField()), exact(0))
