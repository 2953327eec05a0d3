"""How every command is run: the book made where it is absent, exit codes, and where errors go.

0 done, 1 unexpected (details in the log), 2 bad input or a broken rule, 3 the machine lacks something.
"""

import errno
import logging
import os

from practice.project.env import InvalidVariable
from practice.project.exits import INTERRUPTED, LACKING, REFUSED, UNEXPECTED, EnvironmentProblem
from practice.project.locks import one_at_a_time
from practice.project.system import say

NOT_WRITABLE = {errno.EACCES, errno.EPERM, errno.EROFS, errno.ENOSPC, errno.EDQUOT}
# Commands that look at the code alone, or bring the database up to date themselves.
WITHOUT_BOOK = {"check", "collectstatic", "makemigrations", "migrate", "showmigrations", "sqlmigrate"}


def run(arguments: list[str]) -> int:
    """Run a command of manage.py by the rules above; return the exit code."""
    os.umask(0o077)  # what a command writes is its owner's alone
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "practice.project.settings")
    try:
        import django

        django.setup()
    except InvalidVariable as error:
        say(str(error))
        return REFUSED
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
        return 0
    except Exception as error:
        return _exit_code_of(error, arguments)


def _run_command(program: str, arguments: list[str]) -> int:
    from django.core.management import ManagementUtility, get_commands

    name, rest = arguments[0], arguments[1:]
    if name in ("help", "-h", "--help", "--version"):
        ManagementUtility([program, *arguments]).execute()
        return 0
    if name not in get_commands():
        say(f"There is no command {name!r}. `python3 manage.py help` lists them.")
        return REFUSED
    command = ManagementUtility([program, *arguments]).fetch_command(name)
    command._called_from_command_line = True  # a wrong option prints the usage
    parser = command.create_parser(program, name)
    try:
        options = vars(parser.parse_args(rest))
    except SystemExit as end:  # help was asked for: 0; an unknown option: 2
        return end.code
    if name not in WITHOUT_BOOK:
        ensure_book()
    command.execute(*options.pop("args", ()), **options)
    return 0


def _exit_code_of(error: Exception, arguments: list[str]) -> int:
    """Say in one line what went wrong; return the exit code for it. What nobody foresaw goes to the log."""
    from django.conf import settings
    from django.core.management import CommandError
    from django.core.management.base import SystemCheckError
    from django.db import Error

    from practice.lib.errors import RuleBroken

    if isinstance(error, RuleBroken):
        say(str(error))
        return REFUSED
    if isinstance(error, SystemCheckError):
        say(str(error))
        return UNEXPECTED
    if isinstance(error, CommandError):
        say(str(error))
        return REFUSED if error.returncode == 1 else error.returncode
    if isinstance(error, EnvironmentProblem):
        say(str(error))
        return LACKING
    logging.getLogger("roundbook").error("unexpected, in %s", arguments[1:], exc_info=error)
    if isinstance(error, Error) and _database_fails(error):
        say(f"The database does not answer: {' '.join(str(error).split())}")
        return LACKING
    if isinstance(error, OSError) and error.errno in NOT_WRITABLE:
        say(f"{error.filename or 'The data folder'} cannot be written to: {error.strerror}.")
        return LACKING
    say(f"Something unexpected happened: {' '.join(str(error).split())}. Details: {settings.LOG_FILE}")
    return UNEXPECTED


def _database_fails(error: Exception) -> bool:
    """Whether the database itself fails (gone, full, read-only, in use), not what it was asked."""
    from django.db import InterfaceError, OperationalError

    name = getattr(error.__cause__, "sqlite_errorname", None)
    if name is not None:
        return name not in ("SQLITE_ERROR", "SQLITE_MISUSE") and not name.startswith("SQLITE_CONSTRAINT")
    return isinstance(error, OperationalError | InterfaceError)


def ensure_book() -> None:
    """Make and migrate an absent book, and bring an older one up to date; one process at a time."""
    from django.conf import settings
    from django.core.management import call_command

    # Looking takes the lock too: SQLite refuses a second process while the first one sets up a new file.
    with one_at_a_time(settings.DATA_DIR / "migrate.lock"):
        if _is_behind():
            call_command("migrate", verbosity=0, interactive=False)


def _is_behind() -> bool:
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))
