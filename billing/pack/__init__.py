"""The pack for the tax preparer: a year's totals as documents, each named in a manifest with its SHA-256."""

import hashlib
import io
import json
import zipfile
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from billing.actions.closing_years import pack_was_made
from billing.actions.receipts import receipt_file
from billing.models import Expense
from billing.models.pack import Pack
from billing.pack.late import ChangedFigure, came_late
from billing.pack.report import report_pdf
from billing.pack.sheets import Sheets
from billing.reports.year.contract import by_contract
from billing.reports.year_end import YearEnd
from practice.lib.errors import RuleBroken
from practice.lib.kept_files import draft_of
from practice.lib.profile import Profile
from practice.lib.sheet_tables import Table, columns, csv_of
from practice.lib.spreadsheet_cells import csv_text
from practice.lib.workbook import workbook
from practice.papers.mileage_log import mileage_log_pdf

WORDS = """Totals, not tax advice. Rules change. A licensed tax preparer decides.
Materials as inventory or as supplies, mileage by the standard rate or by actual costs:
both are shown; neither is advised.
Each cost counts only once.
Actual costs leave out depreciation, loan interest, property tax, and parking and tolls."""


@dataclass(frozen=True)
class Document:
    """A file of the pack: its name within the folder, and its bytes."""

    name: str
    content: bytes

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.content).hexdigest()


def write_pack(year: YearEnd, folder: Path, profile: Profile, today: date) -> list[Document]:
    """Write the pack of a year into an empty or new folder, all of it or nothing, and remember its figures.

    Returns its documents. Raises RuleBroken `folder_not_empty` where the folder holds something already,
    PdfUnavailable where this machine makes no PDFs.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise RuleBroken("folder_not_empty", f"{folder} is not an empty folder. Name a new one.")
    documents = make_pack(year, profile, today)
    with draft_of(folder) as draft:
        draft.mkdir(mode=0o700)
        for document in documents:
            path = draft / document.name
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(document.content)
        draft.chmod(0o755 if not folder.exists() else folder.stat().st_mode & 0o777)
        if folder.exists():
            folder.rmdir()
        draft.replace(folder)
    remember(year, today)
    return documents


def zipped_pack(year: YearEnd, profile: Profile, today: date) -> bytes:
    """Return the pack of a year as one ZIP file, and remember its figures. Raises PdfUnavailable."""
    out, stem = io.BytesIO(), f"year-{file_name(year)}"
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for document in make_pack(year, profile, today):
            packed.writestr(f"{stem}/{document.name}", document.content)
    remember(year, today)
    return out.getvalue()


def remember(year: YearEnd, today: date) -> Pack:
    """Save what a pack said, so that the next one can list what differs; closed years stay closed now.

    The last pack made again on its day, with nothing changed, is the same one.
    """
    pack_was_made()
    figures = json.dumps(by_contract(year), ensure_ascii=False)
    last = Pack.objects.filter(year=year.year, made_on=today).order_by("made_at").last()
    if last and last.figures == figures:
        return last
    return Pack.objects.create(year=year.year, made_on=today, figures=figures)


def file_name(year: YearEnd) -> str:
    """Return what a tax year is called in the name of a file: `2025`, `2025-26`."""
    return year.period.years.replace("/", "-")


def make_pack(year: YearEnd, profile: Profile, today: date) -> list[Document]:
    """Return the documents of a year's pack, the manifest last. Raises PdfUnavailable."""
    tables, late = Sheets(year, profile).all(), came_late(year, profile, today)
    tables.append(late_table(late))
    stem = f"year-{file_name(year)}"
    documents = [
        Document(f"{stem}.pdf", report_pdf(year, late, profile, today)),
        Document(f"mileage-log-{file_name(year)}.pdf", mileage_log_pdf(year.period, profile)),
        Document(f"{stem}.xlsx", workbook(tables, profile.currency, WORDS)),
        *(Document(f"csv/{table.file}", csv_of(table)) for table in tables),
    ]
    named = Expense.objects.within(year.period).exclude(receipt="").values_list("receipt", flat=True)
    for name in sorted(set(named)):
        path = receipt_file(name)
        if path.is_file():
            documents.append(Document(f"receipts/{name}", path.read_bytes()))
    return [*documents, manifest(documents)]


def late_table(late: list[ChangedFigure]) -> Table:
    """Return what earlier packs gave differently."""
    return Table(
        "Different from earlier packs",
        "different.csv",
        columns("year", "pack made on", "figure", "then", "now"),
        tuple((str(row.year), row.made_on.isoformat(), row.what, row.then, row.now) for row in late),
    )


def manifest(documents: list[Document]) -> Document:
    """Return the list of all files with their size and SHA-256, as CSV."""
    rows = [(document.name, len(document.content), document.sha256) for document in documents]
    return Document("manifest.csv", csv_text([("file", "bytes", "sha256"), *rows]).encode())
