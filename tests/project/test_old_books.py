"""Books that earlier versions made, half-way up the old migrations too, open with the program of today."""

import json
import subprocess
import sys

import pytest
from django.core.management import call_command

from billing.actions.known_rates import known_rates
from practice.reports.planner import RESTS_ON
from tests.conftest import book_of_its_own
from tests.processes import ROOT, run_command, surroundings
from tests.project.old_books import LAST_OF_OLD

UPDATED = "The book was brought up to date. As it was before, it is kept in {}.\n"
GUARDED = [
    f"{table}_no_{event}"
    for table in (
        "billing_creditnote",
        "billing_creditnoteline",
        "billing_invoice",
        "billing_invoiceline",
        "billing_paymentchange",
        "practice_legchange",
        "stock_movement",
    )
    for event in ("delete", "update")
]
STAMPED = {model._meta.db_table for model in RESTS_ON}
FOUND_BY_NAME = {"practice_client", "practice_horse", "practice_place", "stock_item"}


def make_old(variables: dict, targets: dict[str, str]) -> None:
    subprocess.run(
        [
            sys.executable,
            "-m",
            "tests.project.old_books",
            *[f"{app}={name}" for app, name in targets.items()],
        ],
        cwd=ROOT,
        env=surroundings(**variables),
        check=True,
    )


def state_of(variables: dict, said: str = "") -> dict:
    """Open a book as every command does, which says `said`; return what is in it."""
    code = "from tests.project.old_books import say_state; say_state()"
    ended = run_command("shell", "--no-imports", "-c", code, **variables)
    backup = "".join(str(path) for path in (variables["ROUNDBOOK_DATA"] / "backups").glob("*"))
    assert (ended.returncode, ended.stderr) == (0, said.format(backup))
    return json.loads(ended.stdout)


@pytest.fixture(scope="module")
def new_book(tmp_path_factory, django_db_blocker):
    """The state of a book that was begun today."""
    with book_of_its_own(tmp_path_factory.mktemp("new"), django_db_blocker) as variables:
        yield state_of(variables)


@pytest.mark.slow
@pytest.mark.parametrize(
    "targets",
    [
        {"stock": "0004_orders", "practice": "0002_odometer_indexes", "billing": "0006_repeating_expenses"},
        LAST_OF_OLD | {"practice": "0004_guards", "billing": "0009_account_days"},
        LAST_OF_OLD,
    ],
    ids=["middle", "two apps behind", "last"],
)
def test_a_book_of_any_earlier_state_opens_with_all_that_a_new_one_has(targets, absent_book, new_book):
    make_old(absent_book, targets)

    opened = state_of(absent_book, UPDATED)

    assert opened == new_book | {"account days": [["2026-05-04", "100", "0"], ["2026-06-01", "0", "30"]]}
    assert opened["is behind"] is False
    assert [name for name in opened["triggers"] if "_find" not in name and "_stamp" not in name] == GUARDED
    assert {name.partition("_find")[0] for name in opened["triggers"] if "_find" in name} == FOUND_BY_NAME
    assert {name.partition("_stamp")[0] for name in opened["triggers"] if "_stamp" in name} == STAMPED
    assert opened["known rates"] == len(known_rates())


@pytest.mark.slow
def test_a_book_that_is_migrated_back_comes_forward_again(absent_book):
    begun = state_of(absent_book)

    back = run_command("migrate", "stock", "zero", **absent_book)
    again = state_of(absent_book)

    assert (back.returncode, back.stderr) == (0, "")
    assert again == begun


@pytest.mark.django_db
def test_the_migrations_say_all_that_the_models_do(capsys):
    call_command("makemigrations", check=True, dry_run=True)

    assert capsys.readouterr().out == "No changes detected\n"
