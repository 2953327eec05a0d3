"""What was done in a year: visits, horses, and work by service."""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Sum

from billing.models import InvoiceLine
from billing.reports.prices import PriceList
from billing.reports.who_pays import WhoPays
from practice.lib.fields import ExactField
from practice.lib.periods import Period
from practice.models import Service, Visit, Work
from practice.rules.charges import line_amount, unit_price

ZERO = Decimal(0)


@dataclass(frozen=True)
class ServiceDone:
    """How often a service was done, and its net before sharing and tax, 0 where it has no price."""

    service: Service
    count: Decimal
    net: Decimal


@dataclass(frozen=True)
class WorkDone:
    """All work of done visits in the year, held back or billed before this book was started included."""

    visits: int
    horses_seen: int
    by_service: tuple[ServiceDone, ...]


def work_in(year: Period, currency: str) -> WorkDone:
    """Return what was done within a tax year; services in order of entry.

    What an invoice holds of a visit is written down with its price; the rest is priced as of its day.
    """
    visits = Visit.objects.done().filter(date__gte=year.begin, date__lte=year.end)
    work = Work.objects.filter(visit__in=visits.values("pk"))
    counts = dict(
        work.order_by().values_list("service").annotate(sum=Sum("quantity", output_field=ExactField()))
    )
    nets = _written_down(visits)
    for service, net in _priced(work, currency).items():
        nets[service] += net
    return WorkDone(
        visits=visits.count(),
        horses_seen=work.order_by().values("horse").distinct().count(),
        by_service=tuple(
            ServiceDone(service, counts[service.pk], nets[service.pk])
            for service in Service.objects.filter(pk__in=counts).order_by("pk")
        ),
    )


def _written_down(visits) -> dict[int, Decimal]:
    """Return the net by service of visits that are invoiced; the parts of a line add up to it.

    Before any credit note: what was done was done.
    """
    lines = InvoiceLine.objects.standing().filter(
        kind=InvoiceLine.Kind.SERVICE, visit__in=visits.values("pk")
    )
    sums = lines.order_by().values_list("service").annotate(sum=Sum("net", output_field=ExactField()))
    return defaultdict(Decimal, sums)


def _priced(work, currency: str) -> dict[int, Decimal]:
    """Return the net by service of work that is not invoiced: by the price typed, else by the list."""
    prices, nets = PriceList(), defaultdict(Decimal)
    written = InvoiceLine.objects.standing().values("visit")
    names = ("service", "quantity", "price", "horse", "visit__place", "visit__date")
    rows = list(work.exclude(visit__in=written).order_by().values_list(*names))
    who_pays = WhoPays({horse for _, _, _, horse, _, _ in rows})
    for service, quantity, typed, horse, place, day in rows:
        line = who_pays.line(horse, service, place, day)
        price = unit_price(typed, prices.service(service, day, line))
        if price:
            nets[service] += line_amount(quantity, price, currency)
    return nets
