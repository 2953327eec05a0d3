"""Two entries of one client, horse, place or item become one, and two again, with every figure right."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.apps import apps
from django.core import serializers
from django.db import IntegrityError, connection, models, transaction

from billing.actions.invoicing import close_days
from billing.actions.merge_rules import RULES
from billing.actions.merging import merge, undo_merge
from billing.actions.payments import record_payment
from billing.actions.settling import credit_left
from billing.models import AccountDay, Invoice, InvoiceLine, PaymentChange, Price
from practice.actions.materials import return_materials
from practice.actions.visits import complete_visit
from practice.lib.errors import RuleBroken
from practice.lib.merges import Merge
from practice.lib.merging import relations_to
from practice.lib.profile import Profile
from practice.models import Client, Finding, MaterialUse, Owner, Place, Work
from stock.actions.movements import count_item, receive_item, waste_item
from stock.models import Item, Shelf
from tests.factories.practice import (
    DAY,
    ClientFactory,
    FindingFactory,
    HorseFactory,
    MaterialUseFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
    trim,
)
from tests.factories.stock import ItemFactory, OrderLineFactory

D = Decimal
TODAY = DAY + timedelta(days=3)
NOW = datetime(TODAY.year, TODAY.month, TODAY.day, 12, tzinfo=UTC)
pytestmark = pytest.mark.django_db
# What is worked out anew has new keys.
WORKED_OUT = ("settlement", "accountday", "valuation", "shelf", "checkpoint", "balance", "merge")


@pytest.fixture(autouse=True)
def practice(settings):
    settings.TODAY = TODAY
    return ProfileFactory()


def together(kept, taken) -> Merge:
    return merge(kept, taken, by="farrier", at=NOW, today=TODAY)


def refusal(kept, taken) -> str:
    with pytest.raises(RuleBroken) as refused:
        together(kept, taken)
    return refused.value.code


def book() -> dict[str, str]:
    """Return every row of the book by model; of what is worked out, the values without the keys."""
    found = {}
    for model in apps.get_models():
        name = model._meta.model_name
        is_ours = model._meta.app_label in ("practice", "billing", "stock")
        if not is_ours or name in ("findentry", "findnote", "merge", "press", "stamp"):
            continue
        rows = serializers.serialize("python", model._base_manager.order_by("pk"))
        if name in WORKED_OUT:
            found[name] = sorted(str(row["fields"]) for row in rows)
        else:
            found[name] = sorted(str((row["pk"], row["fields"])) for row in rows)
    return found


def two_accounts() -> tuple[Client, Client]:
    """A client with an open invoice, and the same one with credit, a paid invoice and a corrected payment."""
    first, second = (
        ClientFactory(name="Ann Marsh", phone="555-0100"),
        ClientFactory(name="Anne Marsh", email="ann@example.com", phone="555-0199", notes="Pays in cash."),
    )
    trim(first, price="80")
    trim(second, on=DAY - timedelta(1), price="60")
    close_days(DAY - timedelta(1), DAY, TODAY)
    paid = record_payment(second, DAY + timedelta(1), D(90), "check")
    PaymentChange.objects.create(
        payment=paid.key, what="changed", at=NOW, date=DAY, client=second, amount=D(80), method="check"
    )
    trim(second, on=TODAY, price="10")
    return first, second


def test_one_account_of_two_settles_what_is_open_and_two_again_do_not():
    first, second = two_accounts()
    before = book()

    record = together(first, second)

    assert [row.client for row in Invoice.objects.all()] == [first, first]
    assert (first.invoices.all().open_total(), credit_left(first)) == (D(50), D(0))
    assert AccountDay.objects.on(TODAY).get().open == D(50)
    assert (Client.objects.count(), PaymentChange.objects.get().client) == (1, first)
    first.refresh_from_db()
    assert (first.name, first.phone, first.email) == ("Ann Marsh", "555-0100", "ann@example.com")
    assert first.notes == "Pays in cash."
    assert record.moved == (
        "2 owner's shares, 1 invoice, 1 invoice line, 1 payment, 1 earlier version of a payment"
    )
    assert sorted(Invoice.objects.values_list("client_name", flat=True)) == ["Ann Marsh", "Anne Marsh"]

    undo_merge(record, at=NOW, today=TODAY)

    assert book() == before


def test_a_horse_has_the_history_of_both_and_its_returns_find_their_uses():
    juniper = owned_horse(name="Juniper", cautions="Kicks.")
    double = HorseFactory(name="Junipper", cautions="Bites.", born=2015)
    OwnerFactory(horse=double)
    shoe = ItemFactory(sale_price=D(9))
    receive_item(shoe, D(10), D("3.4"), on=DAY - timedelta(9))
    visit = VisitFactory(date=DAY)
    WorkFactory(visit=visit, horse=double)
    MaterialUseFactory(visit=visit, horse=double, item=shoe, quantity=D(4))
    FindingFactory(visit=visit, horse=double)
    complete_visit(visit)
    return_materials(visit, [(double, shoe, D(1))], on=DAY + timedelta(1))
    close_days(DAY, DAY, TODAY)
    WorkFactory(horse=juniper, visit=VisitFactory(date=DAY - timedelta(40), status="done"))
    ledger = list(shoe.ledger.order_by("position").values_list("cost", "on_hand", "value"))

    record = together(juniper, double)

    assert set(Work.objects.values_list("horse", flat=True)) == {juniper.pk}
    assert {row.horse for row in (*Finding.objects.all(), *InvoiceLine.objects.all())} == {juniper}
    assert list(shoe.ledger.order_by("position").values_list("cost", "on_hand", "value")) == ledger
    juniper.refresh_from_db()
    assert (juniper.cautions, juniper.born) == ("Kicks.\nBites.", 2015)
    assert Owner.objects.filter(horse=juniper).count() == 1
    return_materials(visit, [(juniper, shoe, D(1))], on=DAY + timedelta(2))
    assert Shelf.objects.get(item=shoe).on_hand == D(8)

    with pytest.raises(RuleBroken) as refused:
        undo_merge(record, at=NOW, today=TODAY)
    assert refused.value.code == "used_since"


def test_a_horse_becomes_two_again():
    juniper, double = owned_horse(name="Juniper"), owned_horse(name="Junipper")
    shoe = ItemFactory()
    receive_item(shoe, D(10), D("3.4"), on=DAY - timedelta(9))
    visit = VisitFactory(date=DAY)
    WorkFactory(visit=visit, horse=double)
    MaterialUseFactory(visit=visit, horse=double, item=shoe, quantity=D(4))
    complete_visit(visit)
    close_days(DAY, DAY, TODAY)
    before = book()

    undo_merge(together(juniper, double), at=NOW, today=TODAY)

    assert book() == before


def test_a_place_gets_the_horses_and_stops_of_both_and_gives_them_back():
    barn, double = (
        PlaceFactory(name="Barn", notes="Gate 4711."),
        PlaceFactory(name="The barn", address="1 Lane"),
    )
    HorseFactory(place=double)
    VisitFactory(place=double)
    Price.objects.create(service=trim().service, valid_from=DAY, price=D(5), place=double)
    before = book()

    record = together(barn, double)

    barn.refresh_from_db()
    assert (barn.address, barn.horses.count(), barn.visits.count(), barn.prices.count()) == (
        "1 Lane",
        1,
        1,
        1,
    )
    assert Place.objects.filter(pk=double.pk).count() == 0
    undo_merge(record, at=NOW, today=TODAY)
    assert book() == before


@pytest.mark.parametrize("method", ["moving_average", "fifo"])
def test_an_item_has_one_ledger_of_both_and_two_again(method):
    Profile.objects.update(valuation=method)
    shoe, double = ItemFactory(name="Shoe"), ItemFactory(name="Shoes", pattern="plain")
    receive_item(shoe, D(10), D(3), on=DAY - timedelta(9))
    receive_item(double, D(10), D(5), on=DAY - timedelta(8))
    waste_item(double, D(2), on=DAY)
    work = WorkFactory(visit__date=DAY, visit__status="planned")
    MaterialUseFactory(visit=work.visit, horse=work.horse, item=double, quantity=D(4))
    complete_visit(work.visit)
    before = book()

    record = together(shoe, double)

    worth = {"moving_average": D(56), "fifo": D(62)}[method]
    shelf = Shelf.objects.get()
    assert (shelf.item, shelf.on_hand, shelf.value) == (shoe, D(14), worth)
    assert shoe.balances.get().quantity == D(14)
    assert MaterialUse.objects.get().item == shoe
    undo_merge(record, at=NOW, today=TODAY)
    assert book() == before


def test_an_item_that_never_moved_may_go_into_one_that_was_counted():
    shoe, double = ItemFactory(), ItemFactory()
    receive_item(double, D(10), D(3), on=DAY)
    count_item(double, D(9), on=DAY)

    together(shoe, double)

    assert Shelf.objects.get().on_hand == D(9)


def clients_of_one_horse():
    first = OwnerFactory(share=D(60))
    return first.client, OwnerFactory(horse=first.horse, share=D(40)).client


def horses_at_one_stop():
    work = trim()
    return work.horse, WorkFactory(visit=work.visit).horse


def items_of_two_units():
    return ItemFactory(unit="each"), ItemFactory(unit="ml")


def items_on_one_order():
    line = OrderLineFactory()
    return line.item, OrderLineFactory(order=line.order, item=ItemFactory(kind=line.item.kind)).item


def stocked() -> tuple[Item, Item]:
    items = ItemFactory(), ItemFactory()
    for item in items:
        receive_item(item, D(10), D(3), on=DAY)
    return items


def items_counted_apart():
    items = stocked()
    count_item(items[0], D(9), on=DAY)
    return items


def items_of_closed_days():
    items = stocked()
    Profile.objects.update(closed_through=DAY)
    return items


def clients_settled_in_closed_days():
    clients = two_accounts()
    Profile.objects.update(closed_through=DAY + timedelta(2))
    return clients


def the_same():
    place = PlaceFactory()
    return place, place


@pytest.mark.parametrize(
    "make, code",
    [
        (clients_of_one_horse, "both_own_a_share"),
        (clients_settled_in_closed_days, "settled_in_closed_days"),
        (horses_at_one_stop, "both_at_a_stop"),
        (items_of_two_units, "not_the_same_item"),
        (items_on_one_order, "both_on_an_order"),
        (items_counted_apart, "counted_apart"),
        (items_of_closed_days, "day_closed"),
        (the_same, "same_entry"),
    ],
)
def test_what_cannot_become_one_stays_two(make, code):
    kept, taken = make()
    before = book()

    assert refusal(kept, taken) == code
    assert (book(), Merge.objects.count()) == (before, 0)


def test_a_merge_is_undone_on_its_own_day_and_once():
    record = together(PlaceFactory(), PlaceFactory())

    with pytest.raises(RuleBroken) as late:
        undo_merge(record, at=NOW, today=TODAY + timedelta(1))
    undo_merge(record, at=NOW, today=TODAY)
    with pytest.raises(RuleBroken) as again:
        undo_merge(record, at=NOW, today=TODAY)

    assert (late.value.code, again.value.code) == ("merge_too_old", "merge_undone")


def test_what_came_since_keeps_a_merge_from_being_undone():
    first, second = two_accounts()
    record = together(first, second)
    record_payment(first, TODAY, D(5), "cash")

    with pytest.raises(RuleBroken) as refused:
        undo_merge(record, at=NOW, today=TODAY)

    assert refused.value.code == "used_since"
    assert "payment" in str(refused.value)


def test_what_was_changed_since_stays_when_a_merge_is_undone():
    barn, double = PlaceFactory(), PlaceFactory(address="1 Lane")
    record = together(barn, double)
    Place.objects.filter(pk=barn.pk).update(address="2 Lane")

    undo_merge(record, at=NOW, today=TODAY)

    assert Place.objects.get(pk=barn.pk).address == "2 Lane"


def test_own_owners_and_special_prices_stay_and_those_of_the_other_come_back():
    work = trim()
    double = owned_horse()
    for horse, amount in ((work.horse, 40), (double, 30)):
        Price.objects.create(service=work.service, valid_from=DAY, price=D(amount), horse=horse)
    before = book()

    record = together(work.horse, double)

    assert [row.price for row in Price.objects.all()] == [D(40)]
    assert Owner.objects.count() == 1
    undo_merge(record, at=NOW, today=TODAY)
    assert book() == before


@pytest.mark.parametrize("moving", [True, False])
@pytest.mark.parametrize(
    "change",
    [
        "UPDATE billing_invoice SET total = total + 1, tax = tax + 1",
        "UPDATE billing_invoice SET client_id = {third}",
        "UPDATE billing_invoice SET client_id = {kept}, client_name = 'Other' WHERE client_id = {taken}",
        "UPDATE billing_invoice SET client_name = 'Other'",
        "UPDATE billing_invoiceline SET client_id = {kept}, net = 0",
        "UPDATE stock_movement SET quantity = 5",
        "UPDATE stock_movement SET job = '1/1'",
        "DELETE FROM billing_invoice",
        "DELETE FROM stock_movement",
    ],
)
def test_a_fact_changes_only_whom_it_names_and_only_as_a_merge_says(change, moving):
    kept, taken, third = ClientFactory(), ClientFactory(), ClientFactory()
    trim(taken)
    close_days(DAY, DAY, TODAY)
    receive_item(ItemFactory(), D(10), D(3), on=DAY)
    Merge.objects.create(
        kind="client",
        kept="k",
        taken="t",
        name="T",
        at=NOW,
        kept_pk=kept.pk,
        taken_pk=taken.pk,
        moving=moving,
    )

    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(change.format(kept=kept.pk, taken=taken.pk, third=third.pk))


def test_a_fact_follows_nobody_once_the_merge_is_over():
    first, second = two_accounts()
    together(first, second)
    third = ClientFactory()

    for client in (third.pk, second.pk):
        with pytest.raises(IntegrityError), transaction.atomic():
            Invoice.objects.update(client=client)
    assert Merge.objects.filter(moving=True).count() == 0


def test_every_model_that_names_an_entry_is_moved_or_worked_out():
    """A new foreign key to one of these comes along by itself; this says so of those that are there."""
    for rules in RULES.values():
        named = {
            (model, field.name)
            for model in apps.get_models()
            for field in model._meta.concrete_fields
            if isinstance(field, models.ForeignKey) and field.related_model is rules.model
        }
        found = {(row.model, row.field.name) for row in relations_to(rules.model)}
        assert named == found
