"""`manage.py reorder`: what to order now, by item and size."""

from datetime import date

from practice.lib.formats import counted, quantity
from practice.lib.plain import plain, plain_chance
from practice.lib.profile import Profile
from practice.lib.today import today
from practice.project.book_command import BookCommand, iso_date
from practice.reports.planner import plan_on
from stock.reports.reorder import Suggestion


class Command(BookCommand):
    help = "Lists what to order now, by item and size."
    offers_json = True

    def add_arguments(self, parser):
        parser.add_argument(
            "--on", type=iso_date, metavar="DATE", help="as of the end of this day (default: today)"
        )
        super().add_arguments(parser)

    def handle(self, *, on, **options):
        on = on or today()
        rows = plan_on(on).suggestions
        if options["json"]:
            self.print_json(as_json(on, rows))
        else:
            self.report(rows)

    def report(self, rows: list[Suggestion]) -> None:
        locale = Profile.current().locale
        wanted = [row for row in rows if row.packs]
        for row in wanted:
            item = row.item
            pack = "" if item.pack_size == 1 else f" of {quantity(item.pack_size, locale)}"
            short = f"; may run short by {row.first_short_on.isoformat()}" if row.first_short_on else ""
            self.stdout.write(
                f"{counted(row.packs, 'pack')}{pack}: {item} "
                f"({quantity(row.on_hand, locale)} on hand, {quantity(row.on_order, locale)} on order, "
                f"order point {quantity(row.order_point, locale)}{short})"
            )
        for row in rows:
            if row.shortage:
                self.stdout.write(f"{row.item}: {row.in_words(locale)}")
        if not wanted:
            self.stdout.write(
                "Nothing to order. What is on hand and on order lasts until the next delivery but one."
            )


def as_json(on: date, rows: list[Suggestion]) -> dict:
    """Return the document of the contract; every number is text in plain decimal notation."""
    return {
        "on": on.isoformat(),
        "items": [
            {
                "item": row.item.key,
                "on_hand": plain(row.on_hand),
                "on_order": plain(row.on_order),
                "lead_time_days": row.lead_time_days,
                "review_period_days": row.review_period_days,
                "expected_use": plain_chance(row.demand.mean),
                "order_point": plain(row.order_point),
                "service_level": plain(row.service_level),
                "chance_of_running_out": plain_chance(row.chance_of_running_out),
                "packs": row.packs,
                "quantity": plain(row.quantity),
                "first_short_on": row.first_short_on.isoformat() if row.first_short_on else None,
            }
            for row in rows
        ],
    }
