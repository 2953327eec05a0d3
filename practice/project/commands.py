"""How every command is run: the data folder, exit codes, and where errors go.

0 done, 1 unexpected (details in the log), 2 bad input or a broken rule, 3 the machine lacks something.
"""

import logging
import os
import sys

from practice.project.env import BadVariable

UNEXPECTED, REFUSED, LACKING = 1, 2, 3
# Commands that look at the code alone, or look after the database themselves.
WITHOUT_BOOK = {"check", "makemigrations", "migrate", "collectstatic", "shell", "sqlmigrate"}


class MachineLacks(Exception):
    """The machine lacks what a command needs: a port, a writable folder, a database that answers."""


def complain(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def run(arguments: list[str]) -> int:
    """Run a Django command by the contract's rules; return the exit code."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "practice.project.settings")
    try:
        import django

        django.setup()
    except BadVariable as error:
        complain(str(error))
        return REFUSED
    except OSError as error:
        complain(f"The data folder cannot be used: {error}")
        return LACKING
    return _run_command(arguments)


def _run_command(arguments: list[str]) -> int:
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import CommandError, ManagementUtility, get_commands
    from django.db import OperationalError

    from practice.lib.errors import RuleBroken

    try:
        name = arguments[1] if len(arguments) > 1 else "help"
        if name in ("help", "-h", "--help", "--version"):
            ManagementUtility(arguments).execute()
            return 0
        if name not in get_commands():
            complain(f"There is no command {name!r}. `python3 manage.py help` lists them.")
            return REFUSED
        if name not in WITHOUT_BOOK and not {"-h", "--help"} & set(arguments[2:]):
            ensure_book()
        command = ManagementUtility(arguments).fetch_command(name)
        command._called_from_command_line = True
        parser = command.create_parser(os.path.basename(arguments[0]), name)
        options = vars(parser.parse_args(arguments[2:]))
        command.execute(*options.pop("args", ()), **options)
    except (RuleBroken, ImproperlyConfigured) as error:
        complain(str(error))
        return REFUSED
    except CommandError as error:
        complain(str(error))
        return REFUSED if error.returncode == 1 else error.returncode
    except MachineLacks as error:
        complain(str(error))
        return LACKING
    except OperationalError as error:
        complain(f"The database does not answer: {error}")
        return LACKING
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else (0 if end.code is None else UNEXPECTED)
    except KeyboardInterrupt:
        complain("Stopped.")
        return 130
    except BrokenPipeError:
        return 0
    except Exception as error:  # whatever it was, the log keeps it
        logging.getLogger("roundbook").exception("unexpected, in %s", arguments[1:])
        from django.conf import settings

        complain(f"Something unexpected happened: {error}. Details: {settings.LOG_FILE}")
        return UNEXPECTED
    return 0


def ensure_book() -> None:
    """Make and migrate an absent book, and bring an older one up to date."""
    from django.core.management import call_command
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        call_command("migrate", verbosity=0, interactive=False)
