"""What happens before Django is there."""

import os
import subprocess
import sys

import pytest

from practice.project import bootstrap, system
from practice.project.exits import EnvironmentProblem
from tests.processes import ROOT


@pytest.mark.parametrize("version", ["3.10.4", "3.14.0"])
def test_another_python_is_refused_in_words(version):
    numbers = ", ".join(version.split("."))
    pretend = (
        f"import platform, sys; sys.version_info = ({numbers})\n"
        f"platform.python_version = lambda: '{version}'\n"
        "from practice.project.bootstrap import main; sys.exit(main(['manage.py', 'check']))"
    )

    ended = subprocess.run([sys.executable, "-c", pretend], cwd=ROOT, capture_output=True, text=True)

    assert (ended.returncode, ended.stdout) == (3, "")
    assert ended.stderr == (
        f"Roundbook needs Python 3.11, 3.12 or 3.13; this is {version}. Run manage.py with one of these.\n"
    )


def test_without_the_module_venv_the_one_command_is_named(monkeypatch, tmp_path):
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    monkeypatch.setattr(system.shutil, "which", {"apt-get": "/usr/bin/apt-get"}.get)
    monkeypatch.setattr(system.os, "geteuid", lambda: 1000)
    monkeypatch.setattr(bootstrap, "VENV", tmp_path / ".venv")

    with pytest.raises(EnvironmentProblem) as refusal:
        bootstrap._make_venv()

    assert str(refusal.value) == (
        "Python's venv module is missing. To install it:"
        " sudo apt-get install -y --no-install-recommends python3-venv"
    )
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("platform", "tools", "command"),
    [
        (
            "linux",
            ["apt-get"],
            "sudo apt-get install -y --no-install-recommends libpangoft2-1.0-0 libharfbuzz-subset0",
        ),
        ("linux", ["dnf"], "sudo dnf install -y pango"),
        ("linux", [], "use your system's package manager to install the pango package"),
        ("darwin", ["brew"], "brew install pango"),
    ],
)
def test_each_system_is_told_its_own_command_for_pango(monkeypatch, platform, tools, command):
    monkeypatch.setattr(system.sys, "platform", platform)
    monkeypatch.setattr(system.shutil, "which", lambda name: name if name in tools else None)
    monkeypatch.setattr(system, "LIBRARIES_ELSEWHERE", ["libpango-that-is-not-here.so.0"])

    assert system.pdf_problem() == f"PDFs need the Pango library. To install it: {command}"


def test_each_requirement_is_pinned_and_hashed():
    for path in (bootstrap.RUN, bootstrap.TESTS):
        blocks = [
            block for block in path.read_text().replace("\\\n", " ").splitlines() if block[:1].isalnum()
        ]

        assert len(blocks) > 10
        assert [block for block in blocks if "==" not in block or "--hash=sha256:" not in block] == []


def test_what_runs_in_the_tests_is_what_runs_in_the_practice():
    def pins(path):
        return {line.split()[0] for line in path.read_text().splitlines() if line[:1].isalnum()}

    assert pins(bootstrap.RUN) <= pins(bootstrap.TESTS)


def test_a_test_run_keeps_what_python_compiled(monkeypatch):
    """Else each of the many processes that tests start would compile the program again."""
    became = []
    monkeypatch.setattr(bootstrap, "ensure_environment", lambda for_tests: None)
    monkeypatch.setattr(bootstrap, "bring_pango", lambda: None)
    monkeypatch.setattr(bootstrap, "_become", lambda command: became.append((command[1:], dict(os.environ))))
    monkeypatch.setattr("practice.project.commands.run", lambda arguments: 0)
    monkeypatch.setenv("PYTHONDONTWRITEBYTECODE", "1")
    monkeypatch.chdir(ROOT)

    bootstrap.main(["manage.py", "test", "tests/stock"])

    [(command, variables)] = became
    assert command == ["-m", "pytest", "tests/stock"]
    assert "PYTHONDONTWRITEBYTECODE" not in variables
