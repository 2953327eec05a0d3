"""The form of a charge, or below zero of an amount off."""

from decimal import Decimal

from django import forms

from billing.models import Charge
from practice.lib.form_fields import PriceField
from practice.lib.forms import BookForm, NumberField, PastDayField, odd_times
from practice.lib.profile import Profile
from practice.models import Client, Owner, Visit
from stock.rules.odd import times_usual

KINDS = (
    (Charge.Kind.NO_SHOW, "No-show"),
    (Charge.Kind.AFTER_HOURS, "After hours"),
    (Charge.Kind.BOUNCED_CHECK, "Bounced check"),
    (Charge.Kind.DISCOUNT, "Discount: an amount off"),
    (Charge.Kind.OTHER, "Other"),
)


class ChargeForm(BookForm):
    """A charge of a client, or at a visit of a client who is chosen; a discount is always below zero."""

    kind = forms.ChoiceField(label="What it is")
    client = forms.ModelChoiceField(Client.objects.none(), label="Client")
    unit_price = PriceField(label="Amount", example="40.00")
    quantity = NumberField(label="Quantity", above=Decimal(0), initial=Decimal(1), example="1.5")
    name = forms.CharField(
        required=False,
        max_length=200,
        label="Name on the invoice",
        help_text="Leave blank to print the kind of charge.",
    )
    date = PastDayField(label="Date")
    taxable = forms.BooleanField(
        required=False,
        label="It is taxed",
        help_text="What is taxed differs from place to place. A licensed tax preparer decides.",
    )

    def __init__(self, *args, visit: Visit | None = None, client: Client | None = None, **kwargs):
        super().__init__(*args, **kwargs)
        is_late_fee = self.row is not None and self.row.kind == Charge.Kind.LATE_FEE
        self.fields["kind"].choices = [*KINDS, (Charge.Kind.LATE_FEE, "Late fee")] if is_late_fee else KINDS
        if client:
            del self.fields["client"]
            return
        here = clients_at(visit)
        others = Client.objects.filter(archived=False).exclude(pk__in=here).order_by("name", "pk")
        self.fields["client"].queryset = Client.objects.filter(archived=False) | here
        groups = [("At this stop", _named(here)), ("Others", _named(others))]
        self.fields["client"].choices = [("", "Choose a client"), *(row for row in groups if row[1])]
        if len(here) == 1:
            self.initial.setdefault("client", here[0].pk)

    def clean(self):
        data = super().clean()
        kind, price = data.get("kind"), data.get("unit_price")
        if price is not None and not price:
            self.add_error("unit_price", "Type an amount other than 0.")
        elif price is not None and kind == Charge.Kind.DISCOUNT:
            data["unit_price"] = -abs(price)
        if kind and not data.get("name"):
            data["name"] = Charge.Kind(kind).label
            if kind == Charge.Kind.OTHER and "name" not in self.errors:
                self.add_error("name", "Type what it is for, as it should stand on the invoice.")
        return data

    def odd(self):
        kind, price = self.cleaned_data["kind"], abs(self.cleaned_data["unit_price"])
        before = Charge.objects.filter(kind=kind).exclude(pk=self.row.pk if self.row else None)
        times = times_usual(price, [abs(known) for known in before.values_list("unit_price", flat=True)])
        yield from odd_times("charge_far_above_usual", "unit_price", times, "the usual charge of this kind")


def clients_at(visit: Visit):
    """Return the clients whose horses stand at a visit's place that day, or were worked on there, by name."""
    owners = Owner.objects.on(visit.date)
    worked = owners.filter(horse__work__visit=visit)
    standing = owners.filter(horse__place=visit.place, horse__status="active")
    keys = {*worked.values_list("client", flat=True), *standing.values_list("client", flat=True)}
    return Client.objects.filter(pk__in=keys).order_by("name", "pk")


def _named(clients) -> list[tuple[int, str]]:
    return [(client.pk, str(client)) for client in clients]


def initial_charge(profile: Profile, kind: str, visit: Visit | None = None) -> dict:
    """Return what a new form is filled in with: the kind asked for, and what was last charged for it."""
    known = kind if kind in {name for name, _ in KINDS} else Charge.Kind.NO_SHOW
    last = Charge.objects.filter(kind=known).order_by("date", "pk").last()
    day = min(visit.date, profile.today) if visit else profile.today
    initial = {"kind": known, "date": day}
    if last:
        initial |= {"unit_price": last.unit_price, "taxable": last.taxable}
    return initial
