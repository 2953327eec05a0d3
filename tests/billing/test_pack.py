"""The pack for the tax preparer: its documents say what the year says, and its sums add up by themselves."""

import csv
import hashlib
import io
import json
import re
import shutil
import subprocess
import zipfile
from datetime import date, timedelta
from decimal import Decimal

import page as page_validation
import pytest
from django.core.management import call_command
from django.test import override_settings
from openpyxl import load_workbook
from pypdf import PdfReader

from billing.actions.crediting import issue_credit_note
from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.actions.receipts import keep_receipt
from billing.models import Expense, Invoice, Pack, TaxRate
from billing.pack import make_pack
from billing.pack.sheets import Sheets
from billing.reports.year.contract import by_contract
from billing.reports.year_end import year_end
from practice.actions.road import log_leg, set_reading
from practice.lib.profile import Profile
from practice.lib.sheet_tables import Table, columns
from practice.lib.workbook import workbook
from stock.actions.movements import count_item, receive_item, withdraw_item
from tests.conftest import kept_for_a_module
from tests.factories.billing import EquipmentFactory
from tests.factories.practice import ClientFactory, ProfileFactory, VehicleFactory, trim
from tests.factories.stock import ItemFactory
from tests.pictures import PDF
from tests.processes import PATIENCE

pytestmark = pytest.mark.django_db
D = Decimal
MADE = date(2026, 1, 9)


@pytest.fixture(scope="module")
def year_for_all(django_db_setup, django_db_blocker):
    """A year with a bit of everything, and the documents of its pack."""
    with kept_for_a_module(django_db_blocker), override_settings(TODAY=MADE):
        truck, client = live()
        yield truck, client, documents()


@pytest.fixture
def year(year_for_all, db, settings):
    settings.TODAY = MADE
    return year_for_all[:2]


@pytest.fixture
def pack(year, year_for_all) -> dict[str, bytes]:
    """The documents of the year's pack, by name."""
    return dict(year_for_all[2])


def live():
    ProfileFactory(country="US", mileage_scheme="us_standard", currency="USD")
    TaxRate.objects.create(name="State", valid_from=date(2025, 1, 1), rate=5)
    truck, client = VehicleFactory(name="Blue truck"), ClientFactory(name="=Petra & Co")
    for month in (2, 5, 11):
        work = trim(client, on=date(2025, month, 3), price="120.50")
        work.service.taxable = month == 5
        work.service.save()
        log_leg(truck, work.visit.date, purpose="business", distance=D("41.3"), visit=work.visit)
        close_days(work.visit.date, work.visit.date, MADE)
    last = Invoice.objects.latest("issued")
    issue_credit_note(last, date(2025, 11, 20), {1: D("30.50")}, reason="goodwill")
    record_payment(client, date(2025, 6, 1), D("200"), "check", tip=D("10"))
    record_payment(client, date(2025, 12, 1), D("-20"), "check")
    record_payment(client, date(2025, 11, 29), D("60"), "check")
    record_payment(client, date(2025, 11, 30), D("-60"), "check", bounced=True)
    EquipmentFactory(name="Gas forge", placed_in_service=date(2025, 3, 3), cost=D("890"))
    EquipmentFactory(name="Old anvil", cost=D("640"), disposed_on=date(2025, 8, 1), disposed_for=D("250"))
    EquipmentFactory(name="Hoof stand")
    set_reading(truck, date(2025, 12, 31), "end", D("5000"))
    log_leg(truck, date(2025, 12, 30), purpose="personal", distance=D("12.5"))
    shoe = ItemFactory(name="Plain front, No 2")
    receive_item(shoe, D(20), D("3.45"), on=date(2025, 3, 1), paid_on=date(2025, 3, 9))
    withdraw_item(shoe, D(2), on=date(2025, 4, 1))
    count_item(shoe, D(17), on=date(2025, 9, 1))
    receipt = keep_receipt(PDF)
    for day, category, amount in (
        (5, "vehicle fuel", "61.20"),
        (6, "parking and tolls", "4.50"),
        (7, "office", "30"),
    ):
        Expense.objects.create(date=date(2025, 7, day), category=category, amount=D(amount), receipt=receipt)
    return truck, client


def documents() -> dict[str, bytes]:
    profile = Profile.current()
    found = make_pack(year_end(2025, profile, MADE), profile, MADE)
    return {document.name: document.content for document in found}


def recalculated(content: bytes, tmp_path) -> dict[str, list[list]]:
    """The sheets of a workbook as LibreOffice works them out, without the values that it carries."""
    load_workbook(io.BytesIO(content)).save(tmp_path / "in.xlsx")
    subprocess.run(
        [shutil.which("soffice"), "--headless", f"-env:UserInstallation=file://{tmp_path}/home"]
        + ["--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", str(tmp_path / "out"), "in.xlsx"],
        cwd=tmp_path,
        check=True,
        capture_output=True,
        timeout=PATIENCE,
    )
    book = load_workbook(tmp_path / "out" / "in.xlsx", data_only=True)
    return {sheet.title: [[cell.value for cell in row] for row in sheet.iter_rows()] for sheet in book}


def without_blanks(sheets: dict[str, list[list]]) -> dict[tuple, object]:
    """The cells that hold something, by sheet, row and column; numbers to a millionth."""
    return {
        (name, row, column): round(value, 6) if isinstance(value, float) else value
        for name, rows in sheets.items()
        for row, values in enumerate(rows)
        for column, value in enumerate(values)
        if value is not None
    }


def cents(value) -> str:
    return f"{D(str(value)).quantize(D('0.01')):f}"


def test_every_file_is_in_the_manifest_with_its_hash(pack):
    rows = list(csv.DictReader(io.StringIO(pack.pop("manifest.csv").decode())))
    assert [(row["file"], row["bytes"], row["sha256"]) for row in rows] == [
        (name, str(len(content)), hashlib.sha256(content).hexdigest()) for name, content in pack.items()
    ]
    assert [name for name in pack if not name.startswith("csv/")] == [
        "year-2025.pdf",
        "mileage-log-2025.pdf",
        "year-2025.xlsx",
        f"receipts/{keep_receipt(PDF)}",
    ]


@pytest.mark.slow
def test_the_workbook_recalculated_says_what_the_year_says(pack, tmp_path):
    content = pack["year-2025.xlsx"]
    carried = load_workbook(io.BytesIO(content), data_only=True)
    said = by_contract(year_end(2025, Profile.current(), MADE))

    sheets = recalculated(content, tmp_path)

    summary = {row[0]: cents(row[1]) for row in sheets["Summary"][1:21]}
    assert summary == {
        "Received": said["received"]["total"],
        "Sales tax included": said["tax_collected"],
        "Received, net of tax": said["received"]["net_of_tax"],
        "Tips included": said["received"]["tips"],
        "Refunds taken off": "20.00",
        "Bounced checks taken off": "60.00",
        "Invoiced, net": said["invoiced"]["net"],
        "Invoiced, sales tax": said["tax_charged"],
        "Invoiced": said["invoiced"]["total"],
        "Owed to you at year end": said["receivable_at_year_end"],
        "Client credit at year end": said["credits_at_year_end"],
        "Materials used": said["materials"]["used"],
        "Expenses, without materials": cents(sum(D(row["amount"]) for row in said["expenses"])),
        "Business distance": cents(said["mileage"]["business"]),
        "Total distance": cents(said["mileage"]["total"]),
        "Miles at the standard rate": said["mileage"]["standard_total"],
        "Parking and tolls, on top": said["mileage"]["parking_and_tolls"],
        "By the standard rate": "91.23",
        "Vehicle costs": said["mileage"]["actual"]["costs"],
        "By actual costs": said["mileage"]["actual"]["amount"],
    }
    months = sheets["By month"][1:13]
    assert [cents(row[3]) for row in months] == said["received"]["by_month"]
    assert [cents(row[6]) for row in months] == said["invoiced"]["by_month"]
    assert [cents(row[2]) for row in sheets["By category"][1:4]] == [r["amount"] for r in said["expenses"]]
    [vehicle] = said["mileage"]["vehicles"]
    shown = sheets["Miles by vehicle"][1]
    assert [cents(value) for value in shown[1:4]] == [
        cents(vehicle[name]) for name in ("business", "commuting", "personal")
    ]
    assert (shown[4], vehicle["unlogged"]) == ("unknown", None)
    assert [cents(value) for value in shown[8:11]] == [
        said["mileage"]["standard_total"],
        vehicle["costs"],
        vehicle["actual"],
    ]
    assert said["received"]["total"] == "180.00" and said["mileage"]["business"] == "123.9"
    as_carried = {
        sheet.title: [[cell.value for cell in row] for row in sheet.iter_rows()] for sheet in carried
    }
    assert without_blanks(as_carried) == without_blanks(sheets)


def test_one_figure_by_the_standard_rate_in_report_workbook_and_csv(pack, tmp_path):
    rows = csv.reader(io.StringIO(pack["csv/summary.csv"].decode()))
    carried = load_workbook(io.BytesIO(pack["year-2025.xlsx"]), data_only=True)["Summary"].values
    report = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pack["year-2025.pdf"])).pages)

    [in_csv] = [amount for what, amount in rows if what == "By the standard rate"]
    [in_workbook] = [amount for what, amount in carried if what == "By the standard rate"]
    [in_report] = re.findall(r"By the standard rate\s+([0-9.]+)", report)
    # 123.9 miles at 70 cents, the rate of 2025 (IRS Notice 2025-5), and 4.50 of parking and tolls on top.
    assert (in_csv, cents(in_workbook), in_report) == ("91.23", "91.23", "91.23")


@pytest.mark.slow
def test_vehicles_whose_names_are_one_for_a_spreadsheet_count_once_each(year, tmp_path):
    for name, distance in (("*Truck*", "10"), ("*truck*", "20.5"), ("T?uck", "40"), ("Truck ", "80")):
        truck, day = VehicleFactory(name=name), date(2025, 3, 3)
        log_leg(truck, day, purpose="business", distance=D(distance), reason="supplier")
    profile = Profile.current()
    tables = Sheets(year_end(2025, profile, MADE), profile).all()

    sheets = recalculated(workbook(tables, "USD", ""), tmp_path)

    assert {row[0]: row[1] for row in sheets["Miles by vehicle"][1:6]} == {
        "Blue truck": 123.9,
        "*Truck*": 10,
        "*truck*": 20.5,
        "T?uck": 40,
        "Truck ": 80,
    }


def test_text_longer_than_a_cell_holds_is_cut_and_not_left_out():
    table = Table("Notes", "notes.csv", columns("note"), (("x" * 40_000,),))

    book = load_workbook(io.BytesIO(workbook([table], "USD", "")))

    assert book["Notes"]["A2"].value == "x" * 32_766 + "…"


@pytest.mark.slow
def test_a_cell_changed_by_hand_moves_the_totals(pack, tmp_path):
    book = load_workbook(io.BytesIO(pack["year-2025.xlsx"]))
    book["Received"]["D2"] = 1200
    book["Mileage log"]["I2"] = 141.3
    out = io.BytesIO()
    book.save(out)

    sheets = recalculated(out.getvalue(), tmp_path)

    summary = {row[0]: row[1] for row in sheets["Summary"][1:21]}
    assert summary["Received"] == 1180
    assert summary["Business distance"] == pytest.approx(223.9)
    assert sheets["By month"][6][3] == 1200


def test_text_of_a_client_is_never_a_formula(pack):
    book = load_workbook(io.BytesIO(pack["year-2025.xlsx"]))

    cell = book["Received"]["B2"]
    assert (cell.value, cell.data_type) == ("=Petra & Co", "s")
    assert book["Received"]["D7"].value == "=SUM(D2:D6)"


def test_an_empty_table_adds_up_to_nothing():
    table = Table("Nothing", "nothing.csv", columns(("amount", "amount", True)), ())

    book = load_workbook(io.BytesIO(workbook([table], "JPY", "words")))

    assert [[cell.value for cell in row] for row in book["Nothing"].iter_rows()][:3] == [
        ["amount"],
        [None],
        ["=SUM(A2:A2)"],
    ]


def test_the_csv_files_hold_what_the_formulas_come_to(pack):
    [header, *rows] = csv.reader(io.StringIO(pack["csv/by_month.csv"].decode()))
    assert header == ["month", "from", "to", "received", "sales tax included", "net of tax", "invoiced"]
    assert rows[5] == ["June 2025", "2025-06-01", "2025-06-30", "200", rows[5][4], rows[5][5], "0"]
    assert D(rows[5][4]) + D(rows[5][5]) == 200


def test_the_report_is_tagged_and_says_the_figures_and_who_decides(pack, tmp_path):
    content = pack["year-2025.pdf"]

    (tmp_path / "year.pdf").write_bytes(content)
    text = " ".join(" ".join(p.extract_text() for p in PdfReader(io.BytesIO(content)).pages).split())
    assert page_validation.validate_pdf(str(tmp_path / "year.pdf"), profile="ua1").is_compliant
    assert "Year-end report 2025" in text and "180.00" in text
    assert "A licensed tax preparer decides." in text
    assert "refunds of 20.00 and bounced checks of 60.00 are taken off" in text
    bought = text.partition("Cost Sold or retired Sold for ")[2]
    assert bought.startswith("Old anvil Mar 1, 2024 640.00 Aug 1, 2025 250.00 Gas forge Mar 3, 2025 890.00")
    assert re.search(r"Beside the standard rate\s+34\.50", text)
    assert re.search(r"Only by actual vehicle costs\s+61\.20", text)
    assert re.search(r"Business, 44a.*123\.9", text)


def test_the_command_writes_the_folder_and_never_over_another(year, tmp_path, capsys):
    out = tmp_path / "pack"

    call_command("year_end", "2025", "--out", str(out), "--json")

    printed = json.loads(capsys.readouterr().out)
    rows = list(csv.DictReader((out / "manifest.csv").open(newline="")))
    assert printed["year"] == 2025
    assert all(hashlib.sha256((out / row["file"]).read_bytes()).hexdigest() == row["sha256"] for row in rows)
    assert json.loads(Pack.objects.get().figures) == printed
    before = sorted(path.name for path in out.iterdir())
    with pytest.raises(Exception, match="not an empty folder"):
        call_command("year_end", "2025", "--out", str(out))
    assert sorted(path.name for path in out.iterdir()) == before
    assert Pack.objects.count() == 1


def test_what_came_late_is_listed_in_the_next_pack(year, tmp_path):
    truck, client = year
    call_command("year_end", "2025", "--out", str(tmp_path / "first"))
    record_payment(client, date(2025, 12, 30), D("50"), "cash")
    profile = Profile.current()

    found = make_pack(year_end(2026, profile, MADE + timedelta(days=365)), profile, MADE)

    late = next(d for d in found if d.name == "csv/different.csv").content.decode()
    rows = list(csv.reader(io.StringIO(late)))[1:]
    assert ["2025", "2026-01-09", "received, total", "180.00", "230.00"] in rows
    assert ["2025", "2026-01-09", "received, by month, 12", "-20.00", "30.00"] in rows
    assert not any("mileage" in row[2] for row in rows)


def test_the_zip_holds_the_same_documents(pack, browser):
    answer = browser.post("/year/2025/pack/")

    packed = zipfile.ZipFile(io.BytesIO(answer.content))
    assert answer.headers["Content-Disposition"] == 'attachment; filename="year-2025.zip"'
    assert [name.removeprefix("year-2025/") for name in packed.namelist()] == list(pack)
    assert packed.read("year-2025/year-2025.pdf") == pack["year-2025.pdf"]
