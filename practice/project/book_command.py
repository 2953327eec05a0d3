"""What every command of Roundbook has in common: JSON, progress, days, and how it refuses."""

import argparse
import json
from datetime import date
from typing import NoReturn

from django.core.management import BaseCommand, CommandError

from practice.project.exits import REFUSED


class BookCommand(BaseCommand):
    """A command: results on standard output, everything else on standard error.

    `offers_json` gives it the option `--json`. It ends with RuleBroken or `refuse()` for bad input and with
    EnvironmentProblem for a machine that lacks something; `exits.py` knows the exit codes.
    """

    offers_json = False
    suppressed_base_arguments = {
        *("--version", "--verbosity", "--settings", "--pythonpath", "--traceback"),
        *("--no-color", "--force-color", "--skip-checks"),
    }

    def add_arguments(self, parser):
        if self.offers_json:
            parser.add_argument(
                "--json", action="store_true", help="print one JSON document and nothing else"
            )

    def print_json(self, document: dict) -> None:
        self.stdout.write(json.dumps(document, ensure_ascii=False, indent=1))

    def show_progress(self, step: str) -> None:
        """Say what is going on, where somebody watches."""
        if self.stderr.isatty():
            self.stderr.write(f"{step} ...", str)  # not in the color of errors

    def refuse(self, message: str) -> NoReturn:
        """End the command for bad input; nothing has been changed."""
        raise CommandError(message, returncode=REFUSED)


def iso_date(text: str) -> date:
    """Return the day of `YYYY-MM-DD`, for an option of a command."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is None or day.isoformat() != text:
        raise argparse.ArgumentTypeError(f"{text!r} is not a date such as 2026-10-14")
    return day
