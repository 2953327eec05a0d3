"""The price list of a new practice, in one table."""

from decimal import Decimal

from django import forms

from billing.actions.prices import PricedWork
from practice.lib.form_fields import PriceField
from practice.lib.names import plain_name
from practice.lib.row_forms import RowGroup, RowsForm
from practice.models import Service
from practice.rules.proposed_work import PROPOSED_WORK

FEET, MINUTES, BLANK_ROWS = (0, 4), (0, 600), 5


class BeginWorkForm(RowsForm):
    """What you do and what it costs: the usual work is proposed, a row without a price is left out."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        known = {plain_name(name) for name in Service.objects.values_list("name", flat=True)}
        proposed = [vars(work) for work in PROPOSED_WORK if plain_name(work.name) not in known]
        self.group = RowGroup(
            one="Row",
            fields={
                "name": forms.CharField(label="Work", required=False, max_length=200),
                "price": PriceField(label="Price", required=False, low=Decimal(0), example="55.00"),
                "minutes": forms.IntegerField(label="Usual minutes", required=False),
                "new_shoes": forms.IntegerField(label="New shoes", required=False),
                "feet_nailed": forms.IntegerField(label="Feet nailed", required=False),
                "resets_cycle": forms.BooleanField(label="Starts a new cycle", required=False, initial=True),
            },
            rows=len(proposed) + BLANK_ROWS,
            folded=("minutes", "new_shoes", "feet_nailed", "resets_cycle"),
            folded_as="Minutes, shoes, and cycle",
            shown=len(proposed) + 1,
            more_as="More work",
        )
        self.add_rows(self.group, proposed)
        self.ranges = {f"minutes_{number}": MINUTES for number in range(1, self.group.rows + 1)}
        for number in range(1, self.group.rows + 1):
            self.ranges |= {f"new_shoes_{number}": FEET, f"feet_nailed_{number}": FEET}
        self.fit(self.profile)

    @property
    def rows(self):
        return self.rows_of(self.group)

    def clean(self):
        data = super().clean()
        rows, seen = self.typed_rows(self.group), set()
        for number, row in rows:
            self.need("name", number, row["name"], "Type what you do, such as Trim.")
            self.need("price", number, row["price"], "Type what it costs, such as 55.00.")
            name = plain_name(row["name"] or "")
            if name in seen:
                self.add_error(f"name_{number}", "Another row already has this name.")
            seen.add(name)
        if not rows and not self.errors:
            self.add_error(None, "Type at least one price.")
        data["work"] = [PricedWork(**row) for _, row in rows]
        return data
