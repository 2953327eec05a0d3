"""`manage.py credit`, as other programs call it."""

import json
from datetime import date
from decimal import Decimal

import pytest
from django.conf import settings as configured
from django.core.management import CommandError, call_command

from billing.actions.invoicing import close_days
from billing.models import CreditNote, Invoice, TaxRate
from practice.lib.errors import RuleBroken
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, trim

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture(autouse=True)
def invoice(settings) -> Invoice:
    """GF-2026-0001 to `ann`: 50.00 taxed and 30.00, a state and a county tax."""
    settings.TODAY = date(2026, 11, 2)
    ProfileFactory()
    TaxRate.objects.create(name="State", valid_from=DAY, rate=D("4.5"))
    TaxRate.objects.create(name="County", valid_from=DAY, rate=D("1.25"))
    ann = ClientFactory(ref="ann")
    taxed = trim(ann)
    taxed.service.taxable = True
    taxed.service.save()
    trim(ann, price="30")
    [invoice] = close_days(DAY, DAY, DAY).invoices
    return invoice


def credit(capsys, *arguments) -> dict:
    call_command("credit", "GF-2026-0001", *arguments, "--json")
    return json.loads(capsys.readouterr().out)


def test_all_that_is_left_is_credited_today(capsys):
    document = credit(capsys)

    assert document == {
        "number": "GF-CN-2026-0001",
        "invoice": "GF-2026-0001",
        "client": "ann",
        "date": "2026-11-02",
        "net": "80.00",
        "tax": "2.88",
        "total": "82.88",
        "pdf": "credit_notes/2026/GF-CN-2026-0001.pdf",
        "taxes": [
            {"name": "State", "rate": "4.5", "base": "50.00", "tax": "2.25"},
            {"name": "County", "rate": "1.25", "base": "50.00", "tax": "0.63"},
        ],
        "lines": [{"line": 1, "net": "50.00"}, {"line": 2, "net": "30.00"}],
    }
    assert (configured.DATA_DIR / document["pdf"]).read_bytes().startswith(b"%PDF")


def test_some_lines_or_an_amount_of_a_line(capsys):
    document = credit(capsys, "--lines", "2,1:25.00", "--reason", "goodwill", "--date", "2026-10-20")

    assert document["lines"] == [{"line": 1, "net": "25.00"}, {"line": 2, "net": "30.00"}]
    assert (document["date"], document["total"]) == ("2026-10-20", "56.44")
    assert CreditNote.objects.get().reason == "goodwill"


def test_it_can_say_that_it_is_to_be_billed_again(capsys):
    call_command("credit", "GF-2026-0001", "--again")

    assert (
        capsys.readouterr().out == "GF-CN-2026-0001  2026-11-02          $82.88  off invoice GF-2026-0001\n"
    )
    assert CreditNote.objects.get().again


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("GF-2026-0009",), 'There is no invoice with the number "GF-2026-0009".'),
        (
            ("GF-2026-0001", "--lines", "1,x"),
            '"x" is not a line. Give numbers, with an amount where it is a part: 1,3:25.00.',
        ),
        (
            ("GF-2026-0001", "--lines", "1:NaN"),
            '"1:NaN" is not a line. Give numbers, with an amount where it is a part: 1,3:25.00.',
        ),
        (("GF-2026-0001", "--lines", "1,1:5.00"), "Line 1 is given twice."),
        (
            ("GF-2026-0001", "--lines", "7"),
            "The invoice has no line 7. Its lines are numbered from 1 to 2.",
        ),
        (
            ("GF-2026-0001", "--lines", "1:50.01"),
            "Line 1: 50.01 is more than what is left of it, 50.00.",
        ),
    ],
)
def test_what_is_not_there_ends_with_2_and_changes_nothing(arguments, message):
    with pytest.raises((CommandError, RuleBroken)) as refused:
        call_command("credit", *arguments)

    assert (str(refused.value), CreditNote.objects.count()) == (message, 0)
    assert getattr(refused.value, "returncode", 2) == 2


def test_nothing_left_is_refused():
    call_command("credit", "GF-2026-0001")

    with pytest.raises(RuleBroken, match="Nothing is left to credit here."):
        call_command("credit", "GF-2026-0001")
