"""Lists: order and pages by django-tables2, shown as rows of our own or as a table."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from itertools import groupby

import django_tables2 as tables

from practice.lib import formats
from practice.lib.downloads import Download
from practice.lib.list_rows import ListRow
from practice.lib.periods import add_months
from practice.lib.profile import Profile


class BookTable(tables.Table):
    """A list that `list_page` orders and pages by its address. `one` and `many` say what is listed.

    `list_page` gives it the practice's `profile` and `on`, the date of today.

    `nothing_found` is what the list says where a search finds nothing; `{}` is what was searched for.
    `downloads` are the files that can be had of it.
    """

    one, many = "row", "rows"
    nothing_found = "Nothing matches '{}'."
    searched = ""
    downloads: tuple[Download, ...] = ()
    profile: Profile
    on: date

    class Meta:
        template_name = "parts/table.html"
        default = ""

    @property
    def counted(self) -> str:
        """How many things are listed, on all pages: `3 horses`."""
        return formats.counted(self.page.paginator.count, self.one, self.many, self.profile.locale)

    @property
    def news(self) -> str:
        """What is read out after a search or a new order: `3 horses`, or that there is nothing."""
        count = self.page.paginator.count
        return formats.counted(count, self.one, self.many, self.profile.locale) if count else self.empty_text

    def amount(self, value: Decimal) -> str:
        """Return an amount without the currency's sign, for columns."""
        return formats.amount(value, self.profile.currency, self.profile.locale)

    def money(self, value: Decimal) -> str:
        """Return an amount with the currency's sign, for rows and sentences."""
        return formats.money(value, self.profile.currency, self.profile.locale)

    def price(self, value: Decimal) -> str:
        """Return a unit price with the currency's sign and all its decimals."""
        return formats.price(value, self.profile.currency, self.profile.locale)

    def day(self, value: date) -> str:
        return formats.medium_date(value, self.profile.locale)

    def near_day(self, value: date) -> str:
        """Return a day without its year where it is this year's: `Mon, Oct 19`."""
        return formats.short_date(value, self.profile.locale, self.on)


@dataclass(frozen=True)
class ListOrder:
    """A way to order a list: its value in the address, in words, and whether it is the one in force."""

    value: str
    words: str
    chosen: bool


class RowTable(BookTable):
    """A list of rows. Its columns are what it can be ordered by; `orders` says each order in words.

    The first of `orders` is the one in force where the address names none.
    """

    orders: dict[str, str] = {}

    class Meta(BookTable.Meta):
        template_name = "parts/rows.html"

    @property
    def counted(self) -> str:
        """As of any list, but only of what a search found: the heading of the page counts the whole list."""
        return super().counted if self.searched and self.page.paginator.count else ""

    @property
    def order(self) -> str:
        """The order in force, as the address says it: `name`, `-last_done`."""
        asked = str(self.order_by[0]) if self.order_by else ""
        return asked if asked in self.orders else next(iter(self.orders), "")

    def ways_to_order(self) -> list[ListOrder]:
        """Return the orders to choose from; none where there is nothing to put in order."""
        if len(self.orders) == 1 or self.page.paginator.count < 2:
            return []
        return [ListOrder(value, words, value == self.order) for value, words in self.orders.items()]

    def row(self, record) -> ListRow:
        """Return what the list shows of a record."""
        raise NotImplementedError

    def heading(self, record) -> str:
        """Return what the records are grouped by in the order in force; blank for a list without groups."""
        return ""

    def groups(self) -> Iterator[tuple[str, list[ListRow]]]:
        """Yield each heading of this page with its rows."""
        records = (row.record for row in self.paginated_rows)
        for heading, group in groupby(records, self.heading):
            yield heading, [self.row(record) for record in group]


class MonthlyTable(RowTable):
    """A list of dated amounts: in its orders by day the rows stand by month, under the month's sum."""

    day_field, amount_field = "date", "amount"

    def in_month(self, record) -> bool:
        """Whether a row stands under its month in the order in force."""
        return self.order.lstrip("-") == self.day_field

    def heading(self, record) -> str:
        """Return a month with all that the list has of it, on whatever page: `May 2026, $412.50`."""
        if not self.in_month(record):
            return ""
        month = first_of_month(getattr(record, self.day_field))
        return f"{self.month(month)}, {self.money(self._sums[month])}"

    def month(self, day: date) -> str:
        return formats.month_name(day, self.profile.locale)

    def day_of(self, record) -> str:
        """Return the day of a row, without its year where the month above says it: `Mon, Oct 19`."""
        day = getattr(record, self.day_field)
        return formats.short_date(day, self.profile.locale) if self.in_month(record) else self.near_day(day)

    @cached_property
    def _sums(self) -> dict[date, Decimal]:
        """The sum of each month of this page by its first day, from one query."""
        days = [getattr(row.record, self.day_field) for row in self.paginated_rows]
        begin, end = first_of_month(min(days)), add_months(first_of_month(max(days)), 1)
        rows = self.data.data.order_by().filter(
            **{f"{self.day_field}__gte": begin, f"{self.day_field}__lt": end}
        )
        sums: dict[date, Decimal] = defaultdict(Decimal)
        for day, amount in rows.values_list(self.day_field, self.amount_field):
            sums[first_of_month(day)] += amount
        return sums


def first_of_month(day: date) -> date:
    return day.replace(day=1)
