"""Lists of clients, places, horses, services and vehicles."""

from collections.abc import Callable, Iterator
from decimal import Decimal

import django_tables2 as tables
from django.utils.text import capfirst

from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.tables import RowTable
from practice.models import Client, Horse, Place, Service, Vehicle, Visit
from practice.reports.history import at_visits
from practice.reports.horse_history import history_of

NAMED = 4  # so many horses of a visit are named


class ClientTable(RowTable):
    one, many = "client", "clients"
    orders = {"name": "By name", "-horse_count": "Most horses first"}
    nothing_found = "No client is called '{}'."
    name = tables.Column()
    horse_count = tables.Column()

    class Meta(RowTable.Meta):
        model = Client
        fields = ("name", "horse_count")
        empty_text = "No clients yet. Add the first one: who pays?"

    def row(self, client: Client) -> ListRow:
        horses = formats.counted(client.horse_count, "horse") if client.horse_count else ""
        return ListRow(client.get_absolute_url(), client.name, more=client.phone, fact=horses)


class PlaceTable(RowTable):
    one, many = "place", "places"
    orders = {"name": "By name", "area": "By tax area", "-horse_count": "Most horses first"}
    nothing_found = "No place is called '{}'."
    name = tables.Column()
    area = tables.Column(order_by=("area", "name"))
    horse_count = tables.Column()

    class Meta(RowTable.Meta):
        model = Place
        fields = ("name", "area", "horse_count")
        empty_text = "No places yet. Add the first one: where are the horses kept?"

    def heading(self, place: Place) -> str:
        return (place.area or "No tax area") if self.order == "area" else ""

    def row(self, place: Place) -> ListRow:
        horses = formats.counted(place.horse_count, "active horse") if place.horse_count else ""
        more = place.area and f"Tax area {place.area}"
        return ListRow(place.get_absolute_url(), place.name, more=more, fact=horses)


class HorseTable(RowTable):
    one, many = "horse", "horses"
    orders = {"name": "By name", "place": "By place", "last_done": "Longest ago first"}
    nothing_found = "No horse is called '{}'."
    name = tables.Column()
    place = tables.Column(order_by=("place__name", "name"))
    last_done = tables.Column()

    class Meta(RowTable.Meta):
        model = Horse
        fields = ("name", "place", "last_done")
        empty_text = "No horses yet. Add the first one."

    def heading(self, horse: Horse) -> str:
        return str(horse.place or "No place") if self.order == "place" else ""

    def row(self, horse: Horse) -> ListRow:
        place = horse.place.name if horse.place and not self.heading(horse) else ""
        status = "" if horse.status == Horse.Status.ACTIVE else horse.get_status_display()
        words = [place, status, f"every {formats.counted(horse.cycle_weeks, 'week')}"]
        more = ", ".join(filter(None, words))
        done = "last done" if horse.last_done == horse.last_here else "done by someone else"
        return ListRow(
            horse.get_absolute_url(),
            horse.name,
            more=capfirst(more),
            fact=self.day(horse.last_done) if horse.last_done else "New",
            note=done if horse.last_done else "",
        )


class VisitTable(RowTable):
    """Visits by their day."""

    one, many = "visit", "visits"
    orders = {"-date": "Latest first", "date": "Earliest first"}
    date = tables.Column(order_by=("date", "pk"))

    class Meta(RowTable.Meta):
        model = Visit
        fields = ("date",)


class PlaceVisitTable(VisitTable):
    """The visits to one place, whatever became of them."""

    class Meta(VisitTable.Meta):
        empty_text = "No visits yet. Plan the first one."

    def row(self, visit: Visit) -> ListRow:
        horses = list(dict.fromkeys(str(work.horse) for work in visit.work.all()))
        return ListRow(
            visit.get_absolute_url(),
            self.near_day(visit.date),
            more=formats.listed(formats.first_of(horses, NAMED)),
            fact=visit.get_status_display(),
        )


class HorseVisitTable(VisitTable):
    """The done visits to one horse, foot by foot."""

    class Meta(VisitTable.Meta):
        empty_text = "Nothing has been done yet."

    def __init__(self, *args, horse: Horse, **kwargs):
        super().__init__(*args, **kwargs)
        self.horse = horse

    def groups(self) -> Iterator[tuple[str, list[ListRow]]]:
        """Yield the rows of this page, from as many queries as for one."""
        visits = at_visits([row.record for row in self.paginated_rows], self.horse)
        if visits:
            yield "", history_of(self.horse, visits, self.profile).rows


class ServiceTable(RowTable):
    """Services with what they cost today: `price_of` gives a service's price, None where it has none."""

    one, many = "service", "services"
    orders = {"pk": "As added", "name": "By name", "-minutes": "Longest first"}
    nothing_found = "No service is called '{}'."
    pk = tables.Column()
    name = tables.Column()
    minutes = tables.Column()

    class Meta(RowTable.Meta):
        model = Service
        fields = ("pk", "name", "minutes")
        empty_text = "No services yet. Add what you do: a trim, a reset, a full set."

    def __init__(self, *args, price_of: Callable[[int], Decimal | None], **kwargs):
        super().__init__(*args, **kwargs)
        self.price_of = price_of

    def row(self, service: Service) -> ListRow:
        shoes = service.new_shoes and formats.counted(service.new_shoes, "new shoe")
        feet = service.feet_nailed and f"{formats.counted(service.feet_nailed, 'foot', 'feet')} nailed"
        minutes = "" if service.minutes is None else f"{service.minutes} min"
        price = self.price_of(service.pk)
        return ListRow(
            service.get_absolute_url(),
            service.name,
            more=", ".join(filter(None, [shoes, feet, service.get_fitted_display().lower(), minutes])),
            fact="no price" if price is None else self.price(price),
            late=price is None,
        )


class VehicleTable(RowTable):
    one, many = "vehicle", "vehicles"
    orders = {"pk": "As added", "name": "By name"}
    nothing_found = "No vehicle is called '{}'."
    pk = tables.Column()
    name = tables.Column()

    class Meta(RowTable.Meta):
        model = Vehicle
        fields = ("pk", "name")
        empty_text = "No vehicles yet. Add the truck you drive your rounds in."

    def row(self, vehicle: Vehicle) -> ListRow:
        since = vehicle.placed_in_service
        more = f"In service since {self.day(since)}" if since else ""
        return ListRow(vehicle.get_absolute_url(), vehicle.name, more=more)
