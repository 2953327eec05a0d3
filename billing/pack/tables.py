"""What the makers of the tables of the pack share: each table is a sheet of the workbook and a CSV file."""

from billing.reports.year_end import YearEnd
from practice.lib.money import minor_digits
from practice.lib.profile import Profile


class YearTables:
    """What the makers of a year's tables share: the year, and the conditions of its days."""

    def __init__(self, year: YearEnd, profile: Profile):
        self.year, self.profile, self.period = year, profile, year.period
        self.digits = minor_digits(profile.currency)
        self.sales_tax_word = profile.home_country.sales_tax
        self.gather()

    def gather(self) -> None:
        """Make the tables."""
        raise NotImplementedError

    def dated(self, field: str) -> dict:
        """Return the condition that a field is a day of the year, for `filter()`."""
        return {f"{field}__gte": self.period.begin, f"{field}__lte": self.period.end}
