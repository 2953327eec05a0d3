"""Forms of special prices, of who pays instead of the owners, and of a price rise seen before it is saved."""

import hashlib
from collections import defaultdict
from decimal import Decimal

from django import forms

from billing.models import Price
from billing.reports.prices import PriceList
from billing.rules.pricing import raised
from practice.lib import formats
from practice.lib.figures import FigureRow, FigureTable
from practice.lib.form_fields import PriceField
from practice.lib.forms import BookForm, NumberField, PlannedDayField, odd_times
from practice.lib.money import quantum
from practice.lib.profile import Profile
from practice.models import Client, Horse, Place, Service
from stock.models import Item
from stock.rules.odd import times_usual

BLANK = ("", "Choose one")


def keyed(rows) -> dict[str, object]:
    """Return rows by a key that tells their kind: `{"horse-3": horse}`."""
    return {f"{row._meta.model_name}-{row.pk}": row for row in rows}


def options(rows: dict[str, object]) -> list[tuple[str, str]]:
    return [(key, str(row)) for key, row in rows.items()]


class SpecialPriceForm(BookForm):
    """A price of a service or an item for one horse, one client or one place, from a day on."""

    thing = forms.ChoiceField(label="Service or item")
    whose = forms.ChoiceField(
        label="For",
        help_text="A client's price applies where that client alone pays. A horse's price comes before"
        " a client's, and a client's before a place's.",
    )
    since = PlannedDayField(label="Starting")
    price = PriceField(
        label="Unit price",
        low=Decimal(0),
        example="45.00",
        help_text="To end it, enter the regular price from a later day.",
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        kinds = {
            "Services": keyed(Service.objects.current().order_by("name", "pk")),
            "Items": keyed(Item.objects.current().order_by("name", "pk")),
        }
        people = {
            "Horses": keyed(Horse.objects.active().order_by("name", "pk")),
            "Clients": keyed(Client.objects.current().order_by("name", "pk")),
            "Places": keyed(Place.objects.current().order_by("name", "pk")),
        }
        for name, groups in (("thing", kinds), ("whose", people)):
            offered = [(words, options(rows)) for words, rows in groups.items() if rows]
            self.fields[name].choices = [BLANK, *offered]
        self.known = {key: row for rows in (kinds | people).values() for key, row in rows.items()}

    def clean_thing(self) -> Service | Item:
        return self.known[self.cleaned_data["thing"]]

    def clean_whose(self) -> Horse | Client | Place:
        return self.known[self.cleaned_data["whose"]]

    def clean(self):
        data = super().clean()
        thing, price = data.get("thing"), data.get("price")
        if isinstance(thing, Service) and price is not None and price % quantum(self.profile.currency):
            least = formats.price(Decimal("45"), self.profile.currency, self.profile.locale)
            self.add_error("price", f"A service is billed in whole cents. Type a price such as {least}.")
        return data

    def odd(self):
        thing = self.cleaned_data["thing"]
        before = list(thing.prices.values_list("price", flat=True))
        before += filter(None, [getattr(thing, "sale_price", None)])
        times = times_usual(self.cleaned_data["price"], before)
        yield from odd_times("price_far_above_usual", "price", times, "the usual price")


class PayerForm(BookForm):
    """Who pays for a horse instead of its owners: everything, or one service, from a day to a day."""

    client = forms.ModelChoiceField(Client.objects.none(), label="Who pays")
    service = forms.ModelChoiceField(
        Service.objects.none(),
        required=False,
        label="For",
        empty_label="Everything",
        help_text="Everything is the work, the materials, and the travel. For one service, the owners pay the"
        " rest.",
    )
    valid_from = PlannedDayField(
        label="From", required=False, help_text="Leave blank if it has always been so."
    )
    valid_to = PlannedDayField(
        label="To", required=False, help_text="The last day. Leave blank if it goes on."
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        chosen = self.row and self.row.client_id, self.row and self.row.service_id
        for name, model, key in (("client", Client, chosen[0]), ("service", Service, chosen[1])):
            rows = model.objects.current() | model.objects.filter(pk=key)
            self.fields[name].queryset = rows.order_by("name", "pk")

    def clean(self):
        data = super().clean()
        begin, end = data.get("valid_from"), data.get("valid_to")
        if begin and end and end < begin:
            self.add_error("valid_to", "The last day is before the first.")
        return data


class PriceRiseForm(BookForm):
    """New prices for services by percent, rounded to a step. They are saved once their preview was seen."""

    since = PlannedDayField(label="Starting")
    percent = NumberField(
        label="Raise by, percent", above=Decimal(0), high=Decimal(100), places=3, example="4"
    )
    step = NumberField(
        label="Round to the nearest",
        above=Decimal(0),
        money=True,
        places=9,
        example="1",
        help_text="Such as 1 or 0.50. Halfway is rounded up.",
    )
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    preview: FigureTable | None = None

    def __init__(self, *args, profile: Profile, **kwargs):
        super().__init__(*args, profile=profile, **kwargs)
        self.prices = PriceList()
        self.services = {
            f"service_{row.pk}": row
            for row in Service.objects.current().order_by("pk")
            if self.prices.service(row.pk, profile.today)
        }
        for name, service in self.services.items():
            price = self._price(self.prices.service(service.pk, profile.today))
            self.fields[name] = forms.BooleanField(label=f"{service}, {price}", required=False, initial=True)
        self.fit(profile)

    def clean(self):
        data = super().clean()
        if not self.errors and not any(data[name] for name in self.services):
            self.add_error(None, "Check at least one service.")
        return data

    @property
    def new_prices(self) -> list[tuple[Service, Decimal]]:
        """The services that are ticked, each with its new price, as the form is valid."""
        return [(service, new) for service, _, new in self._rises()]

    def _rises(self) -> list[tuple[Service, Decimal, Decimal]]:
        data = self.cleaned_data
        ticked = [row for name, row in self.services.items() if data[name]]
        before = [(row, self.prices.service(row.pk, data["since"])) for row in ticked]
        return [(row, price, raised(price, data["percent"], data["step"])) for row, price in before if price]

    def may_be_saved(self) -> bool:
        """Whether it is valid, and the prices that it would save are those that the reader has seen."""
        if not super().may_be_saved():
            return False
        rises = self._rises()
        if not rises:
            self.refuse("None of these has a price on that day yet. Choose a later day.")
            return False
        self.preview = self._preview(rises)
        facts = [f"{row.pk} {price} {new}" for row, price, new in rises]
        seal = hashlib.sha256("\n".join([str(self.cleaned_data["since"]), *facts]).encode()).hexdigest()[:32]
        if self.cleaned_data["seen"] == seal:
            return True
        self.data = self.data.copy()
        self.data[self.add_prefix("seen")] = seal
        return False

    def _preview(self, rises: list[tuple[Service, Decimal, Decimal]]) -> FigureTable:
        """Return each price as it is and as it will be, with the prices that are set for later days."""
        later, locale = defaultdict(list), self.profile.locale
        set_already = Price.objects.general().filter(service__in=[row for row, *_ in rises])
        for row in set_already.filter(valid_from__gt=self.cleaned_data["since"]).order_by("valid_from", "pk"):
            since = formats.medium_date(row.valid_from, locale)
            later[row.service_id].append(f"Set already: {self._price(row.price)} from {since}")
        rows = (
            FigureRow(
                str(service),
                (self._price(price), self._price(new), self._price(new - price)),
                tuple(later[service.pk]),
            )
            for service, price, new in rises
        )
        return FigureTable(("Service", "Now", "New", "More"), tuple(rows))

    def _price(self, price: Decimal) -> str:
        return formats.price(price, self.profile.currency, self.profile.locale)

    @property
    def save_label(self) -> str:
        return (
            "Preview"
            if self.preview is None
            else f"Save {formats.counted(len(self.preview.rows), 'new price')}"
        )


def initial_special_price(asked: dict[str, int | None], today) -> dict:
    """Return what a new form is filled in with: the things that its link names, by their kind."""
    initial = {"since": today}
    for kind, key in asked.items():
        name = "thing" if kind in ("service", "item") else "whose"
        initial |= {name: f"{kind}-{key}"} if key else {}
    return initial


def initial_of_price(row: Price) -> dict:
    """Return what the form of a special price is filled in with."""
    return {"since": row.valid_from, "price": row.price}
