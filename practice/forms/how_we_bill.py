"""The section of the settings that says how the practice bills."""

from decimal import Decimal

from practice.forms.sections import UP_TO_A_YEAR, FieldGroup, SectionForm
from practice.lib.form_fields import PriceField
from practice.lib.profile import Profile

HUNDRED = Decimal(100)


class BillingForm(SectionForm):
    ranges = {
        "payment_terms_days": UP_TO_A_YEAR,
        "free_renail_days": UP_TO_A_YEAR,
        "early_discount_days": UP_TO_A_YEAR,
        "late_fee_after_days": UP_TO_A_YEAR,
    }
    groups = (
        FieldGroup("Invoices", ("pay_note", "invoice_prefix", "payment_terms_days")),
        FieldGroup("Travel", ("travel_rule", "travel_rate", "minimum_call", "travel_taxable")),
        FieldGroup("Lost shoes", ("free_renail_days",)),
        FieldGroup("Paying early", ("early_discount_percent", "early_discount_days")),
        FieldGroup("Paying late", ("late_fee", "late_interest_percent", "late_fee_after_days")),
        FieldGroup("Your own taxes", ("set_aside_percent",)),
    )

    class Meta:
        model = Profile
        fields = [
            "pay_note",
            "invoice_prefix",
            "payment_terms_days",
            "travel_rule",
            "travel_rate",
            "minimum_call",
            "travel_taxable",
            "free_renail_days",
            "early_discount_percent",
            "early_discount_days",
            "late_fee",
            "late_interest_percent",
            "late_fee_after_days",
            "set_aside_percent",
        ]
        field_classes = {"travel_rate": PriceField, "minimum_call": PriceField}
        labels = {
            "pay_note": "How to pay",
            "invoice_prefix": "Invoice numbers begin with",
            "payment_terms_days": "Days to pay",
            "travel_rule": "Travel charge",
            "travel_rate": "Travel rate",
            "minimum_call": "Minimum per stop",
            "travel_taxable": "Travel is taxed",
            "free_renail_days": "Lost shoes put back free, days after your work",
            "early_discount_percent": "Early-payment discount, percent",
            "early_discount_days": "Early-payment discount, days to pay",
            "late_fee": "Late fee",
            "late_interest_percent": "Late interest, percent a year",
            "late_fee_after_days": "Days past due before either is proposed",
            "set_aside_percent": "Set aside for taxes, percent",
        }
        help_texts = {
            "pay_note": "Printed on invoices. One way per line, such as 'By mail: check to …'.",
            "invoice_prefix": "Such as GF for GF-2026-0001. With a new one, numbers begin at 0001.",
            "payment_terms_days": "From an invoice's date to its due date. You can set a different number for"
            " a client.",
            "travel_rule": "The charge for a stop is split equally among the horses you worked on there. By"
            " distance, a stop waits to be billed until its drive is logged; with a share of the way back,"
            " until the drive after the day's last stop is logged, too.",
            "minimum_call": "The least a stop is billed. The difference is charged and taxed like travel.",
            "travel_taxable": "What is taxed (shoes, labor, travel) differs {}. Nothing is taxed until you"
            " check it here, on the service, or on the item. A licensed tax preparer decides.",
            "free_renail_days": "Counted from the last time you nailed a shoe on that horse. A lost shoe is"
            " then proposed at 0; you can still type a price. Leave blank to always charge for it.",
            "early_discount_percent": "Proposed when a payment is short by exactly that. You decide.",
            "early_discount_days": "After the date of the invoice.",
            "late_fee": "Once for each late invoice, proposed under Money, Owed. Blank: none. Consumer law"
            " comes first: it may cap or forbid it.",
            "late_interest_percent": "Simple interest on what is open. Blank: none.",
            "late_fee_after_days": "0: from the day after the due date.",
            "set_aside_percent": "Of what is left of each quarter, on the page of the year. You choose it; no"
            " tax is calculated.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        rate, taxable, fee = (self.fields[name] for name in ("travel_rate", "travel_taxable", "late_fee"))
        rate.help_text = (
            f"Per visit, or per {self.instance.unit.one}, as you chose above. A place can have its own rate."
        )
        taxable.help_text = taxable.help_text.format(self.instance.home_country.taxed_differently)
        fee.money = True
        self.bound("travel_rate", "0.85")
        self.bound("minimum_call", "60.00")
        self.bound("late_fee", "10.00")
        self.bound("early_discount_percent", "2", HUNDRED)
        self.bound("late_interest_percent", "8", HUNDRED)
        self.bound("set_aside_percent", "25", HUNDRED)

    def clean(self):
        data = super().clean()
        rule, rate = data.get("travel_rule"), data.get("travel_rate")
        if data.get("early_discount_percent") and data.get("early_discount_days") is None:
            self.add_error("early_discount_days", "Type the number of days, such as 10.")
        if rule and rule != "none" and rate is None and "travel_rate" not in self.errors:
            self.add_error("travel_rate", "Type the rate, such as 0.85.")
        return data
