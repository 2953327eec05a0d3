"""How every command is run: the book is created if there is none yet, then the command does its work."""

import gc
import os

from practice.project.env import InvalidVariable
from practice.project.exits import DONE, INTERRUPTED, LACKING, REFUSED, EnvironmentProblem, exit_code_of
from practice.project.system import say

# Commands that look at the code alone, bring the database up to date themselves, or only look at the book.
WITHOUT_BOOK = {
    *("check", "collectstatic", "makemigrations", "migrate", "showmigrations", "sqlmigrate"),
    "doctor",
}


def run(arguments: list[str]) -> int:
    """Run a command of manage.py; return its exit code."""
    os.umask(0o077)  # what a command writes is its owner's alone
    # By itself Python looks for garbage again and again while the program is loaded.
    gc.set_threshold(50_000)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "practice.project.settings")
    try:
        import django

        django.setup()
    except InvalidVariable as error:
        say(str(error))
        return REFUSED
    except EnvironmentProblem as error:
        say(str(error))
        return LACKING
    except OSError as error:
        say(f"The data folder cannot be used: {error}.")
        return LACKING
    try:
        return _run_command(arguments[0], arguments[1:] or ["help"])
    except KeyboardInterrupt:
        say("Stopped.")
        return INTERRUPTED
    except BrokenPipeError:  # who read the results wanted no more
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        return DONE
    except Exception as error:
        return exit_code_of(error, arguments)


def _run_command(program: str, arguments: list[str]) -> int:
    from django.core.management import CommandError, ManagementUtility, get_commands

    from billing.actions.receipts import clear_lost_documents
    from practice.project.tidy import tidy_up

    name, rest = arguments[0], arguments[1:]
    if name in ("help", "-h", "--help", "--version"):
        ManagementUtility([program, *arguments]).execute()
        return DONE
    if name not in get_commands():
        say(f"There is no command {name!r}. Type `python3 manage.py help` for the list.")
        return REFUSED
    command = ManagementUtility([program, *arguments]).fetch_command(name)
    parser = command.create_parser(program, name)
    try:
        options = vars(parser.parse_args(rest))
    except SystemExit:  # it printed its help
        return DONE
    except CommandError as error:
        say(f"{parser.format_usage().strip()}\n{error}")
        return REFUSED
    if name not in WITHOUT_BOOK:
        tidy_up()
        ensure_book()
        clear_lost_documents()
    command.execute(*options.pop("args", ()), **options)
    return DONE


def ensure_book() -> None:
    """Create the book if there is none, or bring an older one up to date; one process at a time."""
    from practice.project.upgrading import bring_up_to_date

    bring_up_to_date()
