"""What every book has beside its tables follows the code: guards, known rates, account days."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from django.core.management import call_command
from django.db import IntegrityError, connection, models, transaction
from django.test.utils import CaptureQueriesContext

from billing.actions import known_rates
from billing.actions.payments import record_payment
from billing.models import AccountDay, Equipment, MileageRate
from practice.lib.stamps import DRAWING, Stamp, bring_stamps, stamps_of
from practice.lib.triggers import Guard, bring_guards
from practice.project.furnish import GUARDS, STAMPED, furnish
from stock.models import Movement, Supplier
from tests.factories.billing import EquipmentFactory, InvoiceFactory, MileageRateFactory
from tests.factories.practice import ClientFactory
from tests.factories.stock import SupplierFactory
from tests.project.old_books import triggers

D = Decimal
ON_MOVEMENTS = {"stock_movement_no_delete", "stock_movement_no_update"}
STAMPS_OF_MOVEMENTS = {f"stock_movement_stamp_{event}" for event in ("delete", "insert", "update")}


def alter_note_of_movements(old, new) -> None:
    """Change a column as a migration does. On SQLite, Django rebuilds the table for that."""
    new.set_attributes_from_name("note")
    new.model = Movement
    with connection.schema_editor() as editor:
        editor.alter_field(Movement, old, new)


@pytest.mark.django_db(transaction=True)
def test_a_table_that_was_altered_has_its_triggers_again():
    before, note = triggers(), Movement._meta.get_field("note")
    shorter = models.CharField(max_length=50, default="")

    alter_note_of_movements(note, shorter)
    lost = set(before) - set(triggers())
    furnish()
    brought = triggers()
    alter_note_of_movements(shorter, note)
    call_command("migrate", verbosity=0)  # with no migration to apply, it brings them too

    assert set(before) > ON_MOVEMENTS
    assert lost == (ON_MOVEMENTS | STAMPS_OF_MOVEMENTS if connection.vendor == "sqlite" else set())
    assert (brought, triggers()) == (before, before)


def renamed(supplier, name: str) -> str:
    """Try to rename a supplier; return what the database says to it."""
    try:
        with transaction.atomic():
            Supplier.objects.filter(pk=supplier.pk).update(name=name)
    except IntegrityError as error:
        return str(error).splitlines()[0]
    return ""


@pytest.mark.django_db
def test_triggers_follow_the_list_of_guards():
    before, supplier = triggers(), SupplierFactory(name="Anvil & Co.")
    guard = Guard("stock_supplier", "a supplier's name stays, 100 %")
    only_old = replace(guard, message="an old name stays", when="OLD.name LIKE 'Old%'")

    said = []
    for guards in ([*GUARDS, guard], [*GUARDS, only_old], [*GUARDS, only_old], GUARDS):
        bring_guards(connection, guards)
        said.append([renamed(supplier, "Old Anvil"), renamed(supplier, "Anvil & Co.")])

    assert said == [
        ["a supplier's name stays, 100 %"] * 2,
        ["", "an old name stays"],
        ["an old name stays"] * 2,
        ["", ""],
    ]
    assert triggers() == before


@pytest.mark.django_db
def test_a_guard_with_a_condition_lets_other_rows_be_deleted():
    bring_guards(connection, [*GUARDS, Guard("stock_supplier", "an old one stays", when="OLD.name = 'Old'")])
    SupplierFactory(name="Old"), SupplierFactory(name="New")

    with pytest.raises(IntegrityError, match="an old one stays"), transaction.atomic():
        Supplier.objects.filter(name="Old").delete()
    Supplier.objects.filter(name="New").delete()

    assert [supplier.name for supplier in Supplier.objects.all()] == ["Old"]


@pytest.mark.django_db
def test_a_trigger_with_another_name_is_left_alone():
    [made, dropped] = {
        "sqlite": [
            "CREATE TRIGGER own AFTER DELETE ON stock_supplier BEGIN SELECT 1; END",
            "DROP TRIGGER own",
        ],
        "postgresql": [
            "CREATE TRIGGER own BEFORE UPDATE ON stock_supplier FOR EACH ROW"
            " EXECUTE FUNCTION suppress_redundant_updates_trigger()",
            "DROP TRIGGER own ON stock_supplier",
        ],
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(made)

        furnish()

        there = "own" in triggers()
        cursor.execute(dropped)
    assert there


def draws(change, table: str = "stock_supplier") -> bool:
    """Whether a change draws another stamp of a table."""
    before = stamps_of([table])
    change()
    return stamps_of([table]) != before


@pytest.mark.django_db
def test_stamps_follow_their_list_of_tables():
    before = triggers()
    other = "billing_equipment"

    bring_stamps([*STAMPED, other])
    listed = [
        draws(EquipmentFactory, other),
        draws(lambda: Equipment.objects.update(name="Forge"), other),
        draws(lambda: Equipment.objects.all().delete(), other),
    ]
    bring_stamps(STAMPED)

    assert (listed, stamps_of([other])) == ([True] * 3, ())
    assert (draws(EquipmentFactory), draws(SupplierFactory)) == (False, True)
    assert triggers() == before


@pytest.mark.django_db
def test_what_changed_while_a_trigger_was_missing_is_seen_when_it_is_back():
    stamps = stamps_of(["stock_supplier"])
    bring_stamps(table for table in STAMPED if table != "stock_supplier")

    SupplierFactory()
    unseen = stamps_of(["stock_supplier", "stock_item"])
    furnish()

    assert (unseen, draws(furnish)) == ((), False)
    assert stamps_of(["stock_supplier"]) not in (stamps, ())


@pytest.mark.django_db
def test_the_stamps_of_connections_of_the_past_do_not_pile_up():
    past = [Stamp(source="stock_supplier", writer=-n, value="past") for n in range(1, 50)]
    if connection.vendor == "postgresql":  # elsewhere nobody leaves one
        Stamp.objects.bulk_create(past)

    assert draws(SupplierFactory)

    assert len(stamps_of(["stock_supplier"])) == 1


@pytest.mark.django_db(transaction=True)
def test_a_migration_may_alter_the_table_of_stamps():
    before = triggers()
    kept, longer = Stamp._meta.get_field("value"), models.CharField(max_length=50)
    longer.set_attributes_from_name("value")

    DRAWING.let_go(connection)
    for old, new in ((kept, longer), (longer, kept)):
        with connection.schema_editor() as editor:
            editor.alter_field(Stamp, old, new)
    furnish()

    assert triggers() == before
    assert draws(SupplierFactory)


@pytest.mark.django_db
def test_known_rates_follow_their_list(tmp_path, monkeypatch):
    own = MileageRateFactory(scheme="us_standard", valid_from=date(2030, 1, 1), rate=D("0.9"))
    kept = MileageRate.objects.exclude(valid_from__year__in=[2011, 2012], scheme="us_standard")
    expected = {*kept.values_list("scheme", "valid_from", "tier_from", "rate")}
    header, *lines = known_rates.FILE.read_text(encoding="utf-8").splitlines(keepends=True)
    lines = [line for line in lines if not line.startswith("US,mile,2011")]  # withdrawn
    lines = [line.replace(",0.555,", ",0.556,") for line in lines]  # corrected, for 2012
    lines.append("US,mile,2027-01-01,2027-12-31,0,0.77,USD,made up for this test,none\n")
    lines.append(
        "US,mile,2030-01-01,2030-12-31,0,0.78,USD,made up for this test,none\n"
    )  # the practice has one
    monkeypatch.setattr(known_rates, "FILE", tmp_path / "rates.csv")
    known_rates.FILE.write_text(header + "".join(lines), encoding="utf-8")

    furnish()

    assert {*MileageRate.objects.values_list("scheme", "valid_from", "tier_from", "rate")} == expected | {
        ("us_standard", date(2012, 1, 1), D(0), D("0.556")),
        ("us_standard", date(2027, 1, 1), D(0), D("0.77")),
    }
    assert MileageRate.objects.own().get() == own


@pytest.mark.django_db
def test_a_book_begun_before_account_days_were_kept_gets_them():
    client = ClientFactory()
    ClientFactory()
    InvoiceFactory(client=client, issued=date(2026, 5, 4), net=D(100))
    record_payment(client, date(2026, 6, 1), D(130), "cash")
    days = AccountDay.objects.order_by("date")
    before = list(days.values_list("client", "date", "open", "credit"))
    AccountDay.objects.all().delete()

    furnish()

    assert list(days.values_list("client", "date", "open", "credit")) == before
    assert len(before) == 2


@pytest.mark.django_db
def test_a_book_in_which_all_is_right_is_only_read():
    client = ClientFactory()
    InvoiceFactory(client=client, issued=date(2026, 5, 4), net=D(100))
    record_payment(client, date(2026, 6, 1), D(40), "cash")

    with CaptureQueriesContext(connection) as asked:
        furnish()

    assert [query["sql"].split()[0] for query in asked] == ["SELECT"] * 9
