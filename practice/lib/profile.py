"""Profile: the one row that every app reads. Who the practice is, its units, and how it charges."""

from datetime import date, timedelta

from django.db import models

from practice.lib.choices import TravelRule, ValuationMethod
from practice.lib.countries import ACTUAL_ONLY, Country, MileageScheme, country_of, mileage_schemes
from practice.lib.errors import RuleBroken
from practice.lib.fields import ExactField
from practice.lib.rows import not_negative, percent
from practice.lib.today import today
from practice.lib.units import DISTANCE_UNITS, DistanceUnit


class Profile(models.Model):
    """The practice: at most one row. `Profile.current()` gives it, or an unsaved one with the defaults.

    `free_renail_days`: how long after its own work a lost shoe is put back for nothing; None: never.
    `home_statement`: why the home is the principal place of business, in the practice's own words.
    `minimum_call`: what one visit is billed at least; None: there is no minimum. `early_discount_percent`:
    what a client may keep who pays within `early_discount_days` after the invoice's date; None: nothing.
    `late_fee` once an invoice and `late_interest_percent` a year: what may be charged for paying more than
    `late_fee_after_days` past the due date; None: nothing.
    `set_aside_percent`: what the farrier puts aside for taxes, of what is left. `closing_to_take_back`:
    the year's end that `closed_through` was last set to, while that can be taken back to `closed_before`.
    `begin_put_away`: the first page no longer asks for what a new book still lacks.
    `vet_name` and `vet_phone`: the veterinarian to call about a horse that has none of its own.
    `today` is no column: the day on which a page is asked for, None for a profile of no page.
    """

    today: date | None = None

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    name = models.CharField(max_length=200)
    address = models.TextField(blank=True, default="")
    email = models.CharField(max_length=254, blank=True, default="")
    phone = models.CharField(max_length=60, blank=True, default="")
    tax_id = models.CharField(max_length=60, blank=True, default="")
    registration_number = models.CharField(max_length=60, blank=True, default="")
    locale = models.CharField(max_length=35, default="en-US")
    currency = models.CharField(max_length=3, default="USD")
    distance_unit = models.CharField(
        max_length=2, default="mi", choices=[(unit.name, unit.many) for unit in DISTANCE_UNITS.values()]
    )
    country = models.CharField(max_length=2, blank=True, default="")
    invoice_prefix = models.CharField(max_length=20, blank=True, default="")
    payment_terms_days = models.PositiveIntegerField(default=14)
    home_latitude = ExactField(null=True, blank=True)
    home_longitude = ExactField(null=True, blank=True)
    home_is_principal_place_of_business = models.BooleanField(default=True)
    mileage_scheme = models.CharField(max_length=20, default=ACTUAL_ONLY.name)
    valuation = models.CharField(
        max_length=20, choices=ValuationMethod.choices(), default=ValuationMethod.MOVING_AVERAGE.value
    )
    lead_time_days = models.PositiveIntegerField(default=7)
    review_period_days = models.PositiveIntegerField(default=7)
    travel_rule = models.CharField(max_length=20, choices=TravelRule.choices(), default=TravelRule.NONE.value)
    travel_rate = ExactField(null=True, blank=True)
    minimum_call = ExactField(null=True, blank=True)
    travel_taxable = models.BooleanField(default=False)
    free_renail_days = models.PositiveIntegerField(null=True, blank=True)
    closed_through = models.DateField(null=True, blank=True)
    pay_note = models.TextField(blank=True, default="")
    set_aside_percent = ExactField(null=True, blank=True)
    home_statement = models.TextField(blank=True, default="")
    early_discount_percent = ExactField(null=True, blank=True)
    early_discount_days = models.PositiveIntegerField(null=True, blank=True)
    late_fee = ExactField(null=True, blank=True)
    late_interest_percent = ExactField(null=True, blank=True)
    late_fee_after_days = models.PositiveIntegerField(default=0)
    closing_to_take_back = models.DateField(null=True, blank=True, editable=False)
    closed_before = models.DateField(null=True, blank=True, editable=False)
    is_demo = models.BooleanField(default=False)
    begin_put_away = models.BooleanField(default=False, editable=False)
    vet_name = models.CharField(max_length=200, blank=True, default="")
    vet_phone = models.CharField(max_length=60, blank=True, default="")

    class Meta:
        app_label = "practice"
        constraints = [
            models.CheckConstraint(condition=models.Q(pk=1), name="practice_profile_is_one_row"),
            models.CheckConstraint(
                condition=models.Q(set_aside_percent__isnull=True)
                | (models.Q(set_aside_percent__gte=0) & models.Q(set_aside_percent__lte=100)),
                name="practice_profile_set_aside_is_a_percent",
            ),
            not_negative("minimum_call", "practice_profile_minimum_call_is_not_negative"),
            percent("early_discount_percent", "practice_profile_early_discount_is_a_percent"),
            not_negative("late_fee", "practice_profile_late_fee_is_not_negative"),
            percent("late_interest_percent", "practice_profile_late_interest_is_a_percent"),
        ]

    def __str__(self):
        return self.name

    @classmethod
    def current(cls) -> "Profile":
        """Return the practice, or an unsaved one with the defaults where the book has none yet."""
        return cls.objects.filter(pk=1).first() or cls(name="")

    @classmethod
    def for_request(cls, request) -> "Profile":
        """Return the practice with the `today` of the page, fetched once a request."""
        if not hasattr(request, "_roundbook_profile"):
            request._roundbook_profile = cls.current()
            request._roundbook_profile.today = today()
        return request._roundbook_profile

    @classmethod
    def locked(cls) -> "Profile":
        """Return the practice with a row lock: whoever draws numbers or settles waits here for the others."""
        return cls.objects.select_for_update().filter(pk=1).first() or cls(name="")

    @property
    def home_country(self) -> Country:
        """What the practice's country is like: its tax year, paper, words and tax form."""
        return country_of(self.country)

    @property
    def home_in_words(self) -> str:
        """What the practice's home means for its drives, with the law and the practice's own statement."""
        cited = self.home_country.home_cited
        if not self.home_is_principal_place_of_business:
            return (
                "Home is not the principal place of business. A drive from or to it, and the first and the"
                f" last of a day, are commuting unless a reason says why not{cited}."
            )
        rule = (
            "Drives from and to home count as business because the practice says that its home is its"
            f" principal place of business{cited}."
        )
        return f"{rule} {self.home_statement or 'It has not written down why.'}"

    @property
    def unit(self) -> DistanceUnit:
        """The unit of the practice's distances, in words."""
        return DISTANCE_UNITS[self.distance_unit]

    @property
    def scheme(self) -> MileageScheme:
        """The mileage scheme that the practice chose."""
        return mileage_schemes()[self.mileage_scheme]

    def is_closed(self, on: date) -> bool:
        """Whether that day is closed for good."""
        return self.closed_through is not None and on <= self.closed_through

    def open_day(self, on: date) -> date:
        """Return that day, or the first open one where it is closed for good."""
        return self.closed_through + timedelta(days=1) if self.is_closed(on) else on

    def date_payment(self, on: date, note: str) -> tuple[date, str]:
        """Return the day that a payment of `on` is entered on, and its note.

        Where `on` is closed for good, it is the first open day, and the note says when it was paid.
        """
        if self.is_closed(on):
            note = f"{note}\n".lstrip("\n") + f"Paid on {on.isoformat()}, a day already closed."
        return self.open_day(on), note

    def check_open(self, on: date) -> None:
        """Raise RuleBroken("day_closed") when that day is closed for good."""
        if self.is_closed(on):
            raise RuleBroken(
                "day_closed",
                f"{on.isoformat()} is closed for good: nothing dated through"
                f" {self.closed_through.isoformat()} can be added, changed, or deleted.",
            )
