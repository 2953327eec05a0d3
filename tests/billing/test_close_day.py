"""`manage.py close_day`, as other programs call it."""

import json
from decimal import Decimal

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from billing.models import TaxRate
from stock.models import Item
from tests.factories.practice import DAY, ClientFactory, MaterialUseFactory, ProfileFactory, trim
from tests.processes import run_here

pytestmark = pytest.mark.django_db


def close_day(capsys, *arguments):
    call_command("close_day", *arguments, "--json")
    return json.loads(capsys.readouterr().out)


def test_the_document_is_that_of_the_contract(capsys):
    ProfileFactory()
    TaxRate.objects.create(name="State", valid_from=DAY, rate=Decimal("6.25"))
    work = trim(ClientFactory(ref="ann"))
    work.visit.ref, work.horse.ref, work.service.ref = "v1", "juniper", "trim"
    pad = Item.objects.create(
        ref="pad", name="Pad", kind="pad", sale_price=Decimal("14"), taxable=True, unit="each"
    )
    MaterialUseFactory(visit=work.visit, horse=work.horse, item=pad, quantity=Decimal("1.5"))
    for row in (work.visit, work.horse, work.service):
        row.save()
    held = trim(price=None).visit

    document = close_day(capsys, "--date", str(DAY), "--no-pdf")

    reason = document["held"][0].pop("reason")
    assert reason.endswith("has no price on October 14.")
    assert document == {
        "invoices": [
            {
                "number": "GF-2026-0001",
                "client": "ann",
                "date": "2026-10-14",
                "due": "2026-10-28",
                "net": "71.00",
                "tax": "1.31",
                "total": "72.31",
                "pdf": None,
                "taxes": [{"name": "State", "rate": "6.25", "base": "21.00", "tax": "1.31"}],
                "lines": [
                    {
                        "kind": "service",
                        "visit": "v1",
                        "horse": "juniper",
                        "code": "trim",
                        "quantity": "1",
                        "unit_price": "50",
                        "share": "100",
                        "net": "50.00",
                    },
                    {
                        "kind": "material",
                        "visit": "v1",
                        "horse": "juniper",
                        "code": "pad",
                        "quantity": "1.5",
                        "unit_price": "14",
                        "share": "100",
                        "net": "21.00",
                    },
                ],
            }
        ],
        "held": [{"visit": held.key, "code": "no_price"}],
        "warnings": [],
    }


def test_the_pdf_is_made_and_named_relative_to_the_data_folder(capsys):
    ProfileFactory()
    trim()

    [invoice] = close_day(capsys, "--date", str(DAY))["invoices"]

    assert invoice["pdf"] == "invoices/2026/GF-2026-0001.pdf"
    path = settings.DATA_DIR / invoice["pdf"]
    assert path.read_bytes().startswith(b"%PDF")
    path.unlink()


def test_running_it_again_issues_nothing_and_still_tells_what_is_held(capsys):
    ProfileFactory()
    trim()
    held = trim(price=None).visit
    close_day(capsys, "--date", str(DAY), "--no-pdf")

    again = close_day(capsys, "--from", str(DAY), "--to", str(DAY), "--no-pdf")

    assert (again["invoices"], [row["visit"] for row in again["held"]]) == ([], [held.key])


@pytest.mark.parametrize(
    "arguments",
    [["--date", "2026-10-14", "--from", "2026-10-14", "--to", "2026-10-15"], ["--from", "2026-10-14"]],
)
def test_contradictory_days_are_bad_input(arguments):
    with pytest.raises(CommandError) as error:
        call_command("close_day", *arguments)

    assert error.value.returncode == 2


@pytest.mark.parametrize("day", ["2026-13-01", "14.10.2026", "20261014"])
def test_a_day_that_is_none_ends_with_2(day, capsys):
    exit_code = run_here("close_day", "--date", day)

    assert (exit_code, capsys.readouterr().out) == (2, "")
