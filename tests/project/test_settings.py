"""The settings: where the data goes, and what a bad variable does."""

import re
import stat

import pytest
from django.conf import settings
from django.db import connection

from practice.project.data import secret_key
from practice.project.exits import EnvironmentProblem
from tests.processes import ROOT, run_command


@pytest.mark.parametrize(
    ("variable", "value", "reason"),
    [
        ("ROUNDBOOK_PORT", "eighty", "ROUNDBOOK_PORT: 'eighty' is not a whole number from 1 to 65535."),
        ("ROUNDBOOK_PORT", "65536", "ROUNDBOOK_PORT: '65536' is not a whole number from 1 to 65535."),
        ("ROUNDBOOK_HTTPS", "perhaps", "ROUNDBOOK_HTTPS: 'perhaps' is not yes or no."),
        ("ROUNDBOOK_TODAY", "14.10.2026", "ROUNDBOOK_TODAY: '14.10.2026' is not a date such as 2026-10-14."),
        (
            "ROUNDBOOK_TIMEZONE",
            "Mars/Olympus",
            "ROUNDBOOK_TIMEZONE: 'Mars/Olympus' is not a time zone such as Europe/Berlin.",
        ),
        (
            "DATABASE_URL",
            "oracle://somewhere/book",
            "DATABASE_URL is not an address such as postgres://user@host:5432/name.",
        ),
        (
            "ROUNDBOOK_USER",
            "farrier",
            "Set both ROUNDBOOK_USER and ROUNDBOOK_PASSWORD, or neither.",
        ),
    ],
)
def test_a_bad_variable_stops_the_start_and_says_why(tmp_path, variable, value, reason):
    ended = run_command("check", ROUNDBOOK_DATA=tmp_path / "data", **{variable: value})

    assert (ended.returncode, ended.stdout, ended.stderr) == (2, "", reason + "\n")


def test_the_data_folder_and_its_secret_key_are_open_to_their_owner_alone(tmp_path):
    data = tmp_path / "book"

    ended = run_command("check", ROUNDBOOK_DATA=data)

    assert ended.returncode == 0, ended.stderr
    modes = {path.name: oct(stat.S_IMODE(path.stat().st_mode)) for path in [data, *data.iterdir()]}
    assert modes == {"book": "0o700", "drafts": "0o700", "logs": "0o700", "secret_key": "0o600"}
    assert len((data / "secret_key").read_text()) >= 50


def test_the_secret_key_stays_the_same(tmp_path):
    run_command("check", ROUNDBOOK_DATA=tmp_path)
    first = (tmp_path / "secret_key").read_text()

    run_command("check", ROUNDBOOK_DATA=tmp_path)

    assert (tmp_path / "secret_key").read_text() == first


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "empty. Delete it"),
        (b" \n", "empty. Delete it"),
        (b"abc", "cut off. Delete it"),
        (b"\xff" * 64, "not text. Delete it"),
        (None, "unreadable (Is a directory). Make it readable, or delete it"),
    ],
    ids=["empty", "blank", "cut off", "not text", "a folder"],
)
def test_a_secret_key_that_is_none_is_named_and_nothing_is_made_in_its_place(tmp_path, content, why):
    path = tmp_path / "secret_key"
    path.mkdir() if content is None else path.write_bytes(content)

    with pytest.raises(EnvironmentProblem) as refused:
        secret_key(tmp_path)

    assert str(refused.value) == (
        f"The secret key {path} is {why}: the next start makes a new one, and everybody has to log in again."
    )
    assert [file.name for file in tmp_path.iterdir()] == ["secret_key"]


@pytest.mark.parametrize("command", [["start", "--no-browser"], ["export_book", "folder"]])
def test_without_its_secret_key_no_command_runs(tmp_path, command):
    (tmp_path / "secret_key").touch()

    ended = run_command(*command, ROUNDBOOK_DATA=tmp_path)

    assert (ended.returncode, ended.stdout) == (3, "")
    assert ended.stderr.startswith(f"The secret key {tmp_path / 'secret_key'} is empty. ")


def test_a_data_folder_that_cannot_be_used_is_the_machines_lack(tmp_path):
    (tmp_path / "file").write_text("in the way")

    ended = run_command("check", ROUNDBOOK_DATA=tmp_path / "file")

    assert ended.returncode == 3
    assert ended.stderr == f"The data folder cannot be used: {tmp_path / 'file'} is not a folder.\n"


def test_a_database_that_does_not_answer_is_the_machines_lack(tmp_path):
    nobody = "postgres://nobody@127.0.0.1:9/book"

    ended = run_command("migrate", ROUNDBOOK_DATA=tmp_path, DATABASE_URL=nobody)

    assert ended.returncode == 3
    assert ended.stderr.startswith("The database is not available: ")


def test_https_makes_the_deploy_check_clean(tmp_path):
    strictly = ["--deploy", "--fail-level", "WARNING"]

    ended = run_command("check", *strictly, ROUNDBOOK_DATA=tmp_path, ROUNDBOOK_HTTPS="yes")

    assert (ended.returncode, ended.stderr) == (0, "")


@pytest.mark.django_db
def test_sqlite_runs_with_wal_full_syncs_foreign_keys_and_a_busy_timeout():
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            names = ["journal_mode", "synchronous", "foreign_keys", "busy_timeout"]
            found = [cursor.execute(f"PRAGMA {name}").fetchone()[0] for name in names]
        full = 2  # https://www.sqlite.org/pragma.html#pragma_synchronous
        assert found == ["wal", full, 1, 20000]
        assert settings.DATABASES["default"]["OPTIONS"]["transaction_mode"] == "IMMEDIATE"
    else:
        assert connection.vendor == "postgresql"


def test_the_developers_page_lists_every_variable():
    code = [*(ROOT / "practice" / "project").rglob("*.py"), ROOT / "manage.py"]
    read = {name for path in code for name in re.findall(r'env_\w+\(\s*"([A-Z_]+)"', path.read_text())}
    table = (
        (ROOT / "DEVELOPERS.md").read_text().partition("## Environment variables")[2].partition("\n## ")[0]
    )
    first_cells = [line.split("|")[1] for line in table.splitlines() if line.startswith("| `")]

    assert len(read) > 5
    assert sorted(re.findall(r"`([A-Z_]+)`", " ".join(first_cells))) == sorted(read)


def test_only_the_settings_read_variables_of_ours():
    readers = {
        path.relative_to(ROOT).as_posix()
        for part in ("practice", "stock", "billing")
        for path in (ROOT / part).rglob("*.py")
        if re.search(r"ROUNDBOOK_[A-Z]+\"|\benv_\w+\(\"", path.read_text())
    }

    assert readers == {"practice/project/settings.py"}
