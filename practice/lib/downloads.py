"""What `Download: CSV, XLSX` below a list gives: all of the list, as searched and ordered, on whatever page.

A list says what can be had of it as `Download`s; its address with `?download=invoices.xlsx` answers with one.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.http import Http404, HttpRequest, HttpResponse

from practice.lib.profile import Profile
from practice.lib.sheet_tables import Table, csv_of
from practice.lib.workbook import workbook

ASKED = "download"
CSV, XLSX = "csv", "xlsx"
KINDS = {
    CSV: "text/csv; charset=utf-8",
    XLSX: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@dataclass(frozen=True)
class Download:
    """A file of a list: its name without an ending, what it is in words, and how its table is made.

    `table(rows, profile, on)` gets the rows of the list in their order, the practice, and today.
    """

    name: str
    words: str
    table: Callable[[Iterable, Profile, date], Table]

    @property
    def csv(self) -> str:
        return f"{self.name}.{CSV}"

    @property
    def xlsx(self) -> str:
        return f"{self.name}.{XLSX}"


def file_asked_for(
    request: HttpRequest, downloads: Sequence[Download], rows: Iterable, profile: Profile, on: date
) -> HttpResponse | None:
    """Return the file of a list that the address asks for; None where it asks for the page.

    Raises Http404 for a file that the list does not have.
    """
    asked = request.GET.get(ASKED)
    if asked is None:
        return None
    for download in downloads:
        if asked in (download.csv, download.xlsx):
            table, kind = download.table(rows, profile, on), asked.rpartition(".")[2]
            content = csv_of(table) if kind == CSV else workbook([table], profile.currency)
            response = HttpResponse(content, content_type=KINDS[kind])
            response["Content-Disposition"] = (
                f'attachment; filename="{download.name}-{on.isoformat()}.{kind}"'
            )
            return response
    raise Http404
