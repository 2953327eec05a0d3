"""Books as earlier versions left them, and what a database holds. Run in processes of their own.

`python -m tests.project.old_books stock=0004_orders ...` makes the book of the surroundings and takes each
app as far up its old migrations as named. `python3 manage.py shell -c` runs `say_state` in a book that the
program of today has opened.
"""

import json
import os
import re
import sys
from datetime import date
from decimal import Decimal

LAST_OF_OLD = {
    "stock": "0011_purchases_by_payment",
    "practice": "0005_set_aside_and_closing",
    "billing": "0012_estimated_payments",
}
SCHEMA = {
    "sqlite": "SELECT name, sql FROM sqlite_master WHERE type IN ('table', 'index') AND sql IS NOT NULL",
    "postgresql": """
        SELECT conname, conrelid::regclass || ' ' || pg_get_constraintdef(oid) FROM pg_constraint
        WHERE connamespace = current_schema()::regnamespace
        UNION SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = current_schema()
        UNION SELECT table_name || '.' || column_name, concat_ws(' ', data_type, character_maximum_length,
            is_nullable, column_default, identity_generation)
        FROM information_schema.columns WHERE table_schema = current_schema()""",
}
TRIGGERS = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger' ORDER BY name",
    "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal ORDER BY tgname",
}


def rows_of(query: dict[str, str]) -> list[tuple]:
    """Return the rows of the query for the kind of database that the book is in."""
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(query[connection.vendor])
        return cursor.fetchall()


def triggers() -> list[str]:
    return [name for (name,) in rows_of(TRIGGERS)]


def schema() -> list:
    """Return tables, columns, constraints and indexes by name; the order of a table's columns is left out."""
    return sorted([name, sorted(re.split(r', (?="|CONSTRAINT)', sql[:-1]))] for name, sql in rows_of(SCHEMA))


def make_old_book(targets: dict[str, str]) -> None:
    """Migrate an absent book up the old migrations, with an invoice of May paid too well in June."""
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor
    from django.db.migrations.loader import MigrationLoader

    executor = MigrationExecutor(connection)
    executor.loader = MigrationLoader(connection, replace_migrations=False)
    apps = executor.migrate(list(targets.items())).apps
    client = apps.get_model("practice.Client").objects.create(name="Low Field Barn")
    invoice = apps.get_model("billing.Invoice").objects.create(
        number="2026-1",
        client=client,
        issued=date(2026, 5, 4),
        due=date(2026, 6, 3),
        net=Decimal(100),
        tax=Decimal(0),
        total=Decimal(100),
    )
    payment = apps.get_model("billing.Payment").objects.create(
        client=client, date=date(2026, 6, 1), amount=Decimal(130), method="cash"
    )
    apps.get_model("billing.Settlement").objects.create(
        payment=payment, invoice=invoice, date=date(2026, 6, 1), amount=Decimal(100)
    )


def say_state() -> None:
    """Print what is in a book and its database as JSON."""
    from django.db import connection
    from django.db.migrations.recorder import MigrationRecorder

    from billing.models import AccountDay, MileageRate
    from practice.project.furnish import is_behind

    days = AccountDay.objects.order_by("date").values_list("date", "open", "credit")
    state = {
        "is behind": is_behind(),
        "migrations": sorted(MigrationRecorder(connection).applied_migrations()),
        "triggers": triggers(),
        "known rates": MileageRate.objects.filter(from_program=True).count(),
        "account days": [[str(value) for value in day] for day in days],
        "schema": schema(),
    }
    print(json.dumps(state))


if __name__ == "__main__":
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "practice.project.settings")
    django.setup()
    make_old_book(dict(argument.split("=") for argument in sys.argv[1:]))
