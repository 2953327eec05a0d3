"""Lists: order and pages by django-tables2, shown as rows of our own or as a table."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import groupby

import django_tables2 as tables

from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile


class BookTable(tables.Table):
    """A list that `list_page` orders and pages by its address. `one` and `many` say what is listed.

    `nothing_found` is what the list says where a search finds nothing; `{}` is what was searched for.
    """

    one, many = "row", "rows"
    nothing_found = "Nothing matches '{}'."
    searched = ""
    profile: Profile

    class Meta:
        template_name = "parts/table.html"
        default = ""

    @property
    def counted(self) -> str:
        """How many things are listed, on all pages: `3 horses`."""
        return formats.counted(self.page.paginator.count, self.one, self.many, self.profile.locale)

    def money(self, value: Decimal) -> str:
        return formats.amount(value, self.profile.currency, self.profile.locale)

    def day(self, value: date) -> str:
        return formats.medium_date(value, self.profile.locale)


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
