"""Lists of clients, places, horses, services and vehicles."""

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from practice.lib import formats
from practice.models import Client, Horse, Place, Service, Vehicle

NAME, NUM = {"td": {"class": "name"}}, {"td": {"class": "num"}}


class ThingTable(tables.Table):
    """A list whose first column is a name that opens. `url_name` is what it opens."""

    url_name = ""

    class Meta:
        template_name = "parts/table.html"
        orderable = True

    def render_name(self, value, record):
        return format_html('<a href="{}">{}</a>', reverse(self.url_name, args=[record.pk]), value)


class ClientTable(ThingTable):
    url_name = "practice:client-detail"
    name = tables.Column(attrs=NAME)
    phone = tables.Column()
    billing = tables.Column(verbose_name="Invoices")

    class Meta(ThingTable.Meta):
        model = Client
        fields = ("name", "phone", "billing")
        empty_text = "No client yet. Add the first one: who pays?"


class PlaceTable(ThingTable):
    url_name = "practice:place-detail"
    name = tables.Column(attrs=NAME)
    area = tables.Column(verbose_name="Tax area")
    horse_count = tables.Column(verbose_name="Horses", attrs=NUM)

    class Meta(ThingTable.Meta):
        model = Place
        fields = ("name", "area", "horse_count")
        empty_text = "No place yet. Add the first one: where do horses stand?"


class HorseTable(ThingTable):
    url_name = "practice:horse-detail"
    name = tables.Column(attrs=NAME)
    place = tables.Column()
    cycle_weeks = tables.Column(verbose_name="Weeks", attrs=NUM)
    status = tables.Column()
    last_done = tables.DateColumn(verbose_name="Last done", attrs=NUM)

    class Meta(ThingTable.Meta):
        model = Horse
        fields = ("name", "place", "cycle_weeks", "status", "last_done")
        empty_text = "No horse yet. Add the first one."

    def render_last_done(self, value):
        return formats.medium_date(value, self.profile.locale)


class ServiceTable(ThingTable):
    url_name = "billing:service-prices"
    name = tables.Column(attrs=NAME)
    minutes = tables.Column(attrs=NUM)
    new_shoes = tables.Column(verbose_name="New shoes", attrs=NUM)
    feet_nailed = tables.Column(verbose_name="Feet nailed", attrs=NUM)
    fitted = tables.Column()

    class Meta(ThingTable.Meta):
        model = Service
        fields = ("name", "minutes", "new_shoes", "feet_nailed", "fitted")
        empty_text = "No service yet. Add what you do: a trim, a reset, a full set."


class VehicleTable(ThingTable):
    url_name = "practice:vehicle-change"
    name = tables.Column(attrs=NAME)
    placed_in_service = tables.DateColumn(verbose_name="In service since", attrs=NUM)

    class Meta(ThingTable.Meta):
        model = Vehicle
        fields = ("name", "placed_in_service")
        empty_text = "No vehicle yet. Add the truck: its miles count."
