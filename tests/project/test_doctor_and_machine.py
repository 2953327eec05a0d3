"""What the machine lacks, as the doctor names it."""

import pytest

from practice.project.doctor import machine
from practice.project.doctor.faults import some_of
from tests.project.test_doctor import found


@pytest.mark.django_db
def test_a_disk_on_which_the_next_backup_may_not_fit_is_of_the_machine(monkeypatch):
    assert found(machine.look_at_room) == []
    monkeypatch.setattr(machine, "free_room", lambda folder: 1_000_000)

    [fault] = machine.look_at_room()

    assert (fault.code, fault.of_machine) == ("little_room", True)
    assert "has 1 MB left" in fault.what


@pytest.fixture
def own_folder(tmp_path, settings):
    """A data folder of the test's own."""
    settings.DATA_DIR = tmp_path / "data"
    settings.DATA_DIR.mkdir(mode=0o700)
    key = settings.DATA_DIR / "secret_key"
    key.write_text("k" * 50)
    key.chmod(0o600)
    return settings.DATA_DIR


def test_what_others_can_read_is_named_with_the_command_that_ends_it(own_folder):
    assert found(machine.look_at_permissions) == []
    own_folder.chmod(0o755)
    (own_folder / "secret_key").chmod(0o644)

    faults = list(machine.look_at_permissions())

    assert [(each.code, each.remedy) for each in faults] == [
        ("folder_open", f"Type: chmod 700 '{own_folder}'"),
        ("files_open", f"Type: chmod 600 '{own_folder / 'secret_key'}'"),
    ]


def test_what_cannot_be_written_is_named(own_folder, monkeypatch):
    (own_folder / "logs").mkdir()
    monkeypatch.setattr(machine.os, "access", lambda path, mode: path.name != "logs")

    assert found(machine.look_at_permissions) == [("not_writable", "These cannot be written to: logs.")]


def test_a_library_of_another_version_is_named_and_one_that_is_not_there_is_not():
    requirements = (
        "django==1.0 \\\n    --hash=sha256:00\nno-such-package==2.0 ; sys_platform == 'os2' \\\n"
        "numpy==0.1 ; python_full_version < '3.12' \\\nnumpy==0.2 ; python_full_version >= '3.12' \\\n"
    )

    first, second = machine.other_libraries(requirements)

    assert first.startswith("django 5.2.") and first.endswith("(instead of 1.0)")
    assert second.endswith("(instead of 0.1 or 0.2)")


@pytest.mark.django_db
def test_the_versions_that_run_here_are_those_of_the_requirements(monkeypatch):
    assert found(machine.look_at_versions) == []

    monkeypatch.setattr(machine.sys, "version_info", (3, 14, 0))
    assert [code for code, _ in found(machine.look_at_versions)] == ["python_version"]


def test_a_missing_library_for_pdfs_is_named_with_its_command(monkeypatch):
    problem = "PDFs need the Pango library. To install it: sudo apt-get install pango"
    monkeypatch.setattr(machine, "pdf_problem", lambda: problem)

    [fault] = machine.look_at_pdfs()

    assert (fault.what, fault.remedy) == (
        *("PDFs need the Pango library.", "To install it: sudo apt-get install pango"),
    )


def test_a_restore_that_did_not_end_is_named(own_folder):
    (own_folder / "restoring").mkdir()

    assert found(machine.look_for_unfinished) == [("restore_unfinished", "A restore was interrupted.")]


def test_a_few_names_are_shown_and_the_rest_counted():
    assert [some_of(range(count)) for count in (1, 5, 7)] == [
        "0",
        "0, 1, 2, 3, 4",
        "0, 1, 2, 3, 4 and 2 more",
    ]
