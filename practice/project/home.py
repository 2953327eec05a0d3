"""Home: is today closed, who is due next, what runs low, who owes.

The server keeps it for its day until a row of a table in `HOME_RESTS_ON` is another one.
"""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from billing.models import (
    BillTo,
    Charge,
    CheckedWarning,
    CreditNote,
    CreditNoteLine,
    Invoice,
    InvoiceLine,
    Price,
    Rebilling,
    Settlement,
    TaxRate,
)
from billing.reports.closing import DayReport, day_report
from billing.reports.message_list import mail_to_look_at
from billing.reports.receivable import ClientBalance, who_owes
from practice.lib import formats
from practice.lib.kept import Kept
from practice.lib.list_rows import ListRow
from practice.lib.pages import round_url
from practice.lib.profile import Profile
from practice.lib.today import today
from practice.models import Client, Horse, Leg, OdometerChange, Owner, Reading, Vehicle
from practice.project.backup.page import what_to_look_at
from practice.project.begin.steps import begin_left
from practice.reports.asked import AskedHorse, horses_to_ask
from practice.reports.due import DuePlace, due_horses, due_places
from practice.reports.planner import RESTS_ON, low_on
from practice.reports.round import stops_done
from practice.reports.vehicle_day import RoundStop, VehicleDay, vehicle_days
from stock.reports.reorder import Suggestion

FIRST, HORSES_NAMED = 4, 3
HOME_RESTS_ON = (
    *RESTS_ON,
    *(Client, Leg, OdometerChange, Owner, Reading, Vehicle),
    *(BillTo, Charge, CheckedWarning, CreditNote, CreditNoteLine, Invoice, InvoiceLine, Price, Rebilling),
    *(Settlement, TaxRate),
)


@dataclass(frozen=True)
class Home:
    """The first page: the day's work, and what needs attention next. Amounts in the practice's currency."""

    on: date
    profile: Profile
    report: DayReport
    vehicle_days: list[VehicleDay]
    due_places: list[DuePlace]
    asked: list[AskedHorse]  # over by more than their whole cycle
    suggestions: list[Suggestion]  # what is low, the soonest short first
    balances: list[ClientBalance]
    mail: str = ""  # what needs a look, blank where nothing does
    backups: str = ""  # likewise

    @property
    def answer(self) -> str:
        if not self.report.stops:
            return "No stops today."
        return "Today is closed." if self.report.is_closed else "Today is not closed yet."

    @property
    def lead(self) -> str:
        """How far the day is, what can be billed and what is to be checked, in sentences."""
        if not self.report.stops:
            return self._nothing_planned()
        now = self.report.total(self.profile.currency)
        later = sum((row.net for row in self.report.waiting), Decimal(0))
        sentences = [stops_done(self.report.done, self.report.stops)]
        if self.report.drafts:
            sentences.append(f"{self._money(now)} to bill now.")
        if later:
            sentences.append(f"{self._money(later)} goes on this month's invoices.")
        if self.report.to_check:
            sentences.append(f"{formats.counted(self.report.to_check, 'thing')} to check.")
        return " ".join(sentences)

    def _nothing_planned(self) -> str:
        overdue = sum(place.due < self.on for place in self.due_places)
        if not overdue:
            return "Nothing is planned for today, and no horse is overdue."
        places = formats.counted(overdue, "place")
        return f"Nothing is planned for today. {places} {'has' if overdue == 1 else 'have'} horses overdue."

    @property
    def stops(self) -> list[ListRow]:
        """The day's stops in driving order, with the horses done there and the distance to reach them."""
        return [self._stop(stop) for part in self.vehicle_days for stop in part.stops]

    def _stop(self, stop: RoundStop) -> ListRow:
        reach = "" if stop.reach is None else self._distance(stop.reach)
        more = stop.horse_names or ("No work entered" if stop.lacks_work else stop.state.capitalize())
        return ListRow(stop.visit.get_absolute_url(), str(stop.visit.place), more, reach)

    @property
    def due(self) -> list[ListRow]:
        return [
            ListRow(
                place.place.get_absolute_url(),
                place.place.name,
                more=self._first_horses(place),
                fact=self._day(place.due),
                late=place.due < self.on,
                note=f"planned {self._day(place.planned.date)}" if place.planned else "not planned",
            )
            for place in self.due_places[:FIRST]
        ]

    def _first_horses(self, place: DuePlace) -> str:
        names = [str(row.horse) for row in place.horses]
        more = len(names) - HORSES_NAMED
        return ", ".join(names[:HORSES_NAMED]) + (f", and {more} more" if more > 0 else "")

    @property
    def low(self) -> list[ListRow]:
        return [
            ListRow(
                reverse("practice:item-why", args=[row.item.pk]),
                row.item.name,
                more=self._what_to_order(row),
                fact=f"{formats.quantity_of(row.on_hand, row.item.unit, self.profile.locale)} left",
                late=row.on_hand <= 0,
            )
            for row in self.suggestions[:FIRST]
        ]

    def _what_to_order(self, row: Suggestion) -> str:
        words = [f"Order {formats.counted(row.packs, 'pack')}."] if row.packs else []
        if row.deliveries:
            words.append(f"{row.in_words(self.profile.locale)}.")
        if row.first_short_on and not row.shortage:
            words.append(f"May run short by {self._day(row.first_short_on)}.")
        return " ".join(words)

    @property
    def owed(self) -> Decimal:
        return sum((row.open for row in self.balances), Decimal(0))

    @property
    def owing(self) -> list[ListRow]:
        return [row.row(self.on, self.profile) for row in self.balances[:FIRST]]

    @property
    def round_url(self) -> str:
        return round_url(self.on)

    def _money(self, value: Decimal) -> str:
        return formats.money(value, self.profile.currency, self.profile.locale)

    def _day(self, day: date) -> str:
        return formats.short_date(day, self.profile.locale, self.on)

    def _distance(self, value: Decimal) -> str:
        return formats.distance(value, self.profile.distance_unit, self.profile.locale)


def work_out_home(on: date) -> Home:
    """Return home on a day; what is not in the tables it rests on is left out."""
    profile, due = Profile.current(), due_horses()
    profile.today = on
    return Home(
        on=on,
        profile=profile,
        report=day_report(on, profile, on),
        vehicle_days=vehicle_days(on, profile),
        due_places=due_places(on, rows=due),
        asked=horses_to_ask(on, profile, due),
        suggestions=low_on(on),
        balances=who_owes(),
    )


kept_home = Kept(work_out_home, HOME_RESTS_ON)


@require_GET
def home(request: HttpRequest) -> HttpResponse:
    profile, now = Profile.for_request(request), today()
    left = begin_left(profile)
    if left and (not profile.name or not Horse.objects.exists()):
        return redirect("begin")
    page = replace(kept_home(now), mail=mail_to_look_at(now), backups=what_to_look_at(now))
    return render(request, "home.html", {"home": page, "begin": left})
