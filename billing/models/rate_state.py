"""Whether a dated rate is in force on a day, as lists group by it."""

from datetime import date

from django.db.models import Case, Exists, IntegerChoices, OuterRef, Q, QuerySet, When


class RateState(IntegerChoices):
    IN_FORCE = 1, "In force today"
    LATER = 2, "From a later day"
    REPLACED = 3, "No longer in force"


def with_state(rates: QuerySet, on: date, series: tuple[str, ...], ends: bool) -> QuerySet:
    """Annotate `state`, a RateState, of dated rates on a day.

    Rows that are alike in the fields of `series` follow each other: the last that began is in force. With
    `ends` a rate is out of force after its `valid_to`, else it goes on until the next one.
    """
    begin, key = OuterRef("valid_from"), OuterRef("pk")
    following = rates.model.objects.filter(
        Q(valid_from__gt=begin) | Q(valid_from=begin, pk__gt=key),
        valid_from__lte=on,
        **{field: OuterRef(field) for field in series},
    )
    over = Exists(following)
    if ends:
        over |= Q(valid_to__lt=on)
    return rates.annotate(
        state=Case(
            When(valid_from__gt=on, then=RateState.LATER),
            When(over, then=RateState.REPLACED),
            default=RateState.IN_FORCE,
        )
    )
