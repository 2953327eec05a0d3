"""Exit codes, and what a command says when it ends otherwise than well."""

import sqlite3

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command, get_commands, load_command_class
from django.db import OperationalError

from practice.lib.errors import RuleBroken
from practice.project.book_command import BookCommand
from practice.project.exits import EnvironmentProblem, exit_code_of
from tests.processes import run_command


def test_an_unknown_command_is_bad_input(absent_book):
    ended = run_command("shoe_horse", **absent_book)

    assert (ended.returncode, ended.stdout) == (2, "")
    assert ended.stderr == "There is no command 'shoe_horse'. Type `python3 manage.py help` for the list.\n"


def test_an_unknown_option_is_bad_input(absent_book):
    ended = run_command("start", "--sideways", **absent_book)

    assert (ended.returncode, ended.stdout) == (2, "")
    assert ended.stderr.endswith("\nError: unrecognized arguments: --sideways\n")


def test_a_date_that_is_none_is_bad_input():
    with pytest.raises(CommandError) as refused:
        call_command("reorder", "--on", "2026-13-01")

    assert str(refused.value) == "Error: argument --on: '2026-13-01' is not a date such as 2026-10-14"


def test_every_command_of_ours_has_the_one_base():
    """So JSON, progress and refusals are the same in all of them."""
    ours = [name for name, app in get_commands().items() if app in ("practice", "billing", "stock")]
    commands = {name: load_command_class(get_commands()[name], name) for name in ours}

    assert {name for name, command in commands.items() if not isinstance(command, BookCommand)} == set()
    assert {"close_day", "import_book", "start"} <= set(commands)


@pytest.mark.parametrize(
    ("error", "exit_code", "message"),
    [
        (RuleBroken("day_closed", "October 13 is closed."), 2, "October 13 is closed."),
        (CommandError("No such folder."), 2, "No such folder."),
        (CommandError("No such printer.", returncode=3), 3, "No such printer."),
        (EnvironmentProblem("No port is free."), 3, "No port is free."),
        (
            PermissionError(13, "Permission denied", "/book/files"),
            3,
            "/book/files is not writable: Permission denied.",
        ),
    ],
)
def test_what_was_foreseen_is_said_plainly(capsys, error, exit_code, message):
    assert exit_code_of(error, ["manage.py", "close_day"]) == exit_code
    assert capsys.readouterr() == ("", message + "\n")


def test_what_nobody_foresaw_is_said_in_one_line_and_kept_in_the_log(capsys):
    try:
        raise ZeroDivisionError("no horses,\n no average")
    except ZeroDivisionError as error:
        exit_code = exit_code_of(error, ["manage.py", "close_day"])

    assert exit_code == 1
    assert capsys.readouterr() == (
        "",
        f"Something went wrong: no horses, no average. Details: {settings.LOG_FILE}\n",
    )
    assert "ZeroDivisionError: no horses" in settings.LOG_FILE.read_text()


def test_a_question_that_the_database_does_not_understand_is_our_own_mistake(tmp_path):
    connection = sqlite3.connect(tmp_path / "book")
    with pytest.raises(sqlite3.OperationalError) as asked:
        connection.execute("SELECT hooves FROM horse")
    wrapped = OperationalError(str(asked.value))
    wrapped.__cause__ = asked.value

    assert exit_code_of(wrapped, ["manage.py", "reorder"]) == 1


def test_a_database_file_that_is_none_is_the_machines_lack(tmp_path):
    (tmp_path / "roundbook.sqlite3").write_text("this was a shopping list " * 100)

    ended = run_command("start", "--no-browser", ROUNDBOOK_DATA=tmp_path, DATABASE_URL=None)

    assert (ended.returncode, ended.stdout) == (3, "")
    assert ended.stderr == "The database is not available: file is not a database\n"


def test_a_command_clears_what_a_killed_one_left(empty_book, tmp_path):
    data = empty_book["ROUNDBOOK_DATA"]
    (data / "drafts").mkdir(parents=True)
    left = tmp_path / ".monday.zip.0123abcd.draft"
    left.write_bytes(b"half a copy")
    (data / "drafts" / "0123456789abcdef").write_text(str(left))

    ended = run_command("reorder", **empty_book)

    assert ended.returncode == 0, ended.stderr
    assert not left.exists()
    assert list((data / "drafts").iterdir()) == []
