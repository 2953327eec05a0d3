"""Spreadsheets as farriers have them, for tests that bring them in."""

import csv
import io
import zipfile
from collections.abc import Sequence
from datetime import date
from uuid import UUID

from django.core.files.uploadedfile import SimpleUploadedFile

from practice.project.bring_in.kinds import KINDS
from practice.project.bring_in.sheets import SheetOfText
from practice.project.bring_in.uploads import Upload, new_upload
from practice.project.bring_in.zips import keep_folder

# A title, a blank row, other headings and another order; two mistakes, a blank row and a sum at the end.
MESSY_HORSES = [
    ["Horses of the spring, kept by hand"],
    [],
    ["Horse", "Barn", "Owner", "Phone", "Every", "Last shod", "Work", "Paid?"],
    ["Bramble", "Lantern Barn", "Wren Halloway", "0555-0131", "6 weeks", date(2026, 10, 1), "Full set", "x"],
    ["Juniper", "Lantern Barn", "wren  halloway", "", 7, "Sept 24, 2026", "Trim", "x"],
    ["Old Tom", "Gatepost Yard", "Odell Marsh", "555-0107", 8, "9/12/2026", "Trim", ""],
    ["Sorrel", "Gatepost Yard", "Odell Marsh", "", "6", "the 3rd", "Full set", "x"],
    [],
    ["Pepper", "Gatepost Yard", "Odell Marsh 50%; Wren Halloway 50%", "", 6, date(2026, 9, 12), "Trim", ""],
    ["Quince", "Saltbox Farm", "Twelve Pines Riding Club", "", 6, date(2026, 10, 5), "Full set", "x"],
    ["Larkspur", "Saltbox Farm", "Twelve Pines Riding Club", "", "six", date(2026, 10, 5), "Trim", "x"],
    ["Moth", "Saltbox Farm", "Twelve Pines Riding Club", "", 6, "", "", ""],
    ["Élan", "Lantern Barn", "Ines Corvo", "555-0150", 5, date(2026, 10, 1), "Full set", "x"],
    ["Bramble", "Saltbox Farm", "Twelve Pines Riding Club", "", 6, date(2026, 10, 5), "Trim", ""],
    ["Total", "", "", "", "", "", "", 10],
]


def workbook_of(**sheets: Sequence[Sequence]) -> bytes:
    """Return an XLSX file with these sheets."""
    from openpyxl import Workbook

    book, out = Workbook(), io.BytesIO()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(list(row))
    book.save(out)
    return out.getvalue()


def csv_of(rows: Sequence[Sequence], mark: str = ",", encoding: str = "utf-8") -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=mark).writerows(rows)
    return out.getvalue().encode(encoding)


def upload(browser, what: str, content: bytes, name: str = "barns.xlsx") -> str:
    """Send a file as a reader does; return the address of its columns. Fails where it is refused."""
    answer = browser.post(f"/bring-in/{what}/", {"file": SimpleUploadedFile(name, content)})
    assert answer.status_code == 302, answer.context["form"].errors
    return answer.headers["Location"]


def check(browser, columns: str, **chosen: str) -> str:
    """Send the columns as they were guessed, but for those chosen; return the address of the check."""
    form = browser.get(columns).context["form"]
    sent = {name: field.initial or "" for name, field in form.fields.items()} | chosen
    answer = browser.post(columns, sent)
    assert answer.status_code == 302, answer.context["form"].errors
    return answer.headers["Location"]


def wrong(browser, address: str) -> dict[tuple[int, str], str]:
    """Return what the page of the check marks: the message by row, as the spreadsheet counts, and heading."""
    rows = browser.get(address).context["rows"]
    return {(row.number, cell.label): cell.message for row in rows for cell in row.cells}


def comes_to(browser, address: str) -> list[str]:
    """Return what the page of the check says that comes in."""
    outlook = browser.get(address).context["outlook"]
    assert outlook.is_ready, outlook
    return [row.words for row in outlook.counts]


def bring_in(browser, address: str) -> str:
    """Press the button of the check; return what is said after it."""
    answer = browser.post(address.replace("/check/", "/now/"), follow=True)
    return str([*answer.context["messages"]][-1])


def kept_upload(horse: str, last_done: str) -> Upload:
    """Keep a sheet of one horse; its check marks the day, unless that is blank."""
    upload = new_upload(
        KINDS["horses"], "barns.csv", [SheetOfText("", [["Horse", "Last done"], [horse, last_done]])]
    )
    upload.left_out = {9}
    upload.save()
    return upload


def zip_of(files: dict[str, bytes | str]) -> bytes:
    """Return a ZIP file with these files, by their paths."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for path, content in files.items():
            packed.writestr(path, content)
    return out.getvalue()


def kept_folder(name: str) -> UUID:
    """Keep a folder of a book with one client."""
    return keep_folder(zip_of({"clients.csv": f"ref,name\r\nown,{name}\r\n"}))


def checked(browser, what: str, rows: list, **chosen: str) -> str:
    """Send rows as a CSV file and choose its columns as guessed; return the address of the check."""
    return check(browser, upload(browser, what, csv_of(rows), "barns.csv"), **chosen)
