"""The days of a client's statement."""

from billing.forms.year import DaysForm
from practice.lib.forms import PastDayField


class StatementForm(DaysForm):
    """The first and the last day of a statement: none is ahead, as nothing has moved there yet."""

    end = PastDayField(label="To")
