"""Forms of expenses, repeating expenses, and tools and equipment."""

from decimal import Decimal

from django import forms

from billing.actions.receipts import clean_receipt
from billing.models import Equipment, RepeatingExpense
from billing.models.expense import CATEGORIES, Expense
from billing.reports.expenses import year_of_category
from billing.rules.odd import times_usual_expense
from billing.rules.vehicle_costs import OF_A_VEHICLE
from practice.lib.countries import Country
from practice.lib.forms import BookForm, BookModelForm, NumberField, PastDayField, PlannedDayField, odd_times
from practice.lib.pictures import LARGEST
from practice.lib.profile import Profile
from practice.models import Vehicle


def category_choices(country: Country) -> list:
    """Return the categories in two groups, with the line of the country's tax form where one is known."""

    def named(category: str) -> tuple[str, str]:
        return category, country.named_category(category)

    rest = [category for category in CATEGORIES if category not in OF_A_VEHICLE]
    return [
        ("", "Choose a category"),
        ("On the road", [named(category) for category in OF_A_VEHICLE]),
        ("The practice", [named(category) for category in rest]),
    ]


class ExpenseForm(BookForm):
    """Money spent; the amount first, as it is typed at the counter."""

    amount = NumberField(
        label="Amount",
        money=True,
        places=9,
        example="48.20",
        help_text="With tax. Type a minus for money you got back: −48.20.",
    )
    category = forms.ChoiceField(label="Category")
    receipt = forms.FileField(
        required=False,
        label="Receipt",
        help_text="A photo or a PDF, at most 10 MB.",
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,application/pdf"}),
    )
    drop_receipt = forms.BooleanField(required=False, label="Delete the receipt")
    date = PastDayField(label="Date")
    vendor = forms.CharField(required=False, max_length=200, label="Paid to")
    vehicle = forms.ModelChoiceField(
        Vehicle.objects.none(), required=False, label="Vehicle", empty_label="None"
    )
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea)

    def __init__(self, *args, profile: Profile, row: Expense | None = None, **kwargs):
        super().__init__(*args, profile=profile, row=row, **kwargs)
        self.fields["category"].choices = category_choices(profile.home_country)
        self.fields["vendor"].widget.attrs["list"] = "vendors"
        vehicles = Vehicle.objects.order_by("pk")
        self.fields["vehicle"].queryset = vehicles.filter(archived=False) | vehicles.filter(
            pk=row.vehicle_id if row else None
        )
        if not (row and row.receipt):
            del self.fields["drop_receipt"]

    def clean_receipt(self):
        upload = self.cleaned_data["receipt"]
        if not upload:
            return None
        try:
            return clean_receipt(upload.read(LARGEST + 1))
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None

    def clean(self):
        data = super().clean()
        if data.get("amount") == 0:
            self.add_error("amount", "Enter an amount above 0, such as 48.20, or below 0 for money back.")
        return data

    def odd(self):
        if self.row is not None and not {"amount", "category", "date"} & set(self.changed_data):
            return
        category, data = self.cleaned_data["category"], self.cleaned_data
        before = year_of_category(category, data["date"], but=self.row)
        times = times_usual_expense(data["amount"], before)
        yield from odd_times("expense_far_above_usual", "amount", times, f"the usual for {category}")


class RepeatingExpenseForm(BookModelForm):
    class Meta:
        model = RepeatingExpense
        fields = ["amount", "category", "every", "valid_from", "valid_to", "vendor", "vehicle", "note"]
        labels = {
            "category": "Category",
            "every": "Repeats",
            "valid_from": "First due on",
            "valid_to": "Ends on",
            "vendor": "Paid to",
        }
        help_texts = {
            "valid_from": "Then on the same day each time.",
            "valid_to": "Leave blank if it has no end.",
        }
        field_classes = {"valid_from": PlannedDayField}

    def __init__(self, *args, profile: Profile, **kwargs):
        super().__init__(*args, profile=profile, **kwargs)
        amount = self.fields["amount"]
        amount.money, amount.above, amount.example = True, Decimal(0), "46.50"
        self.fields["category"].choices = category_choices(profile.home_country)
        self.fields["vehicle"].empty_label = "None"

    def clean(self):
        data = super().clean()
        begin, end = data.get("valid_from"), data.get("valid_to")
        if begin and end and end < begin:
            self.add_error("valid_to", "The end is before the first due date.")
        return data


class EquipmentForm(BookModelForm):
    class Meta:
        model = Equipment
        fields = ["name", "placed_in_service", "cost", "disposed_on", "disposed_for", "note"]
        labels = {
            "name": "Name",
            "placed_in_service": "In use since",
            "cost": "Cost",
            "disposed_on": "Sold or scrapped on",
            "disposed_for": "Sold for",
        }
        help_texts = {
            "disposed_on": "Also the day it was given away or lost. Leave blank while it is in use.",
            "disposed_for": "0 if you got nothing for it.",
        }
        field_classes = {"placed_in_service": PastDayField, "disposed_on": PastDayField}

    def __init__(self, *args, profile: Profile, **kwargs):
        super().__init__(*args, profile=profile, **kwargs)
        for name, example in (("cost", "640.00"), ("disposed_for", "120.00")):
            field = self.fields[name]
            field.money, field.low, field.example = True, Decimal(0), example

    def clean(self):
        data = super().clean()
        begin, end = data.get("placed_in_service"), data.get("disposed_on")
        if begin and end and end < begin:
            self.add_error("disposed_on", "This day is before it was in use.")
        if data.get("disposed_for") is not None and not end and "disposed_on" not in self.errors:
            self.add_error("disposed_on", "Enter the day it was sold.")
        return data
