"""What every book has beside its tables: guards, stamps, the search, known rates, older account days.

A migration runs once and sees the code of its day; this is done again after every migration and before
every command. So a trigger or rate that is added to the code reaches the books that are there already.
What is right is left alone, and a book in which all is right is only read.
"""

from django.db import connection
from django.utils import timezone

import billing.guards
import practice.guards
import stock.guards
from billing.actions.accounts import bring_account_days
from billing.actions.known_rates import bring_known_rates
from practice.lib.stamps import DRAWING, bring_stamps
from practice.lib.triggers import bring_guards, let_go_of_merges
from practice.project.find.index import bring_index
from practice.project.find.watching import NOTING
from practice.project.first_books import bring_to_first_migrations
from practice.project.home import HOME_RESTS_ON
from practice.project.phone.kept import KEPT_RESTS_ON
from practice.project.phone.taking import forget_old_entries
from practice.project.sent_forms import forget_old_presses
from practice.reports.planner import RESTS_ON

STAMPED = sorted({model._meta.db_table for model in (*RESTS_ON, *HOME_RESTS_ON, *KEPT_RESTS_ON)})
GUARDS = [*stock.guards.GUARDS, *practice.guards.GUARDS, *billing.guards.GUARDS]


def furnish() -> None:
    """Bring a book, whose migrations are all applied, everything that no migration makes."""
    bring_guards(connection, GUARDS)
    bring_index()
    bring_stamps(STAMPED)
    bring_known_rates()
    bring_account_days()
    forget_old_presses()
    forget_old_entries(timezone.now())


def is_behind() -> bool:
    """Whether `migrate` has anything to do: apply a migration, or note that one stands in for others."""
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    noted = executor.recorder.applied_migrations()
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes())) or any(
        key not in noted for key in executor.loader.replacements
    )


def make_way_for_migrations(plan: list, **_) -> None:
    """Take out what would stop a migration, forward or back; it comes back when the book is furnished."""
    if plan:
        bring_to_first_migrations(connection)
        let_go_of_merges(connection)
        NOTING.let_go(connection)
        DRAWING.let_go(connection)


def furnish_after_migration(**_) -> None:
    """Furnish the book unless it was migrated to an earlier state, in which tables may be missing."""
    if not is_behind():
        furnish()
