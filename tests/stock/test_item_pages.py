"""The pages of an item, a supplier and a location: what is typed, and what they say where it cannot be."""

from decimal import Decimal

import pytest
from django.urls import reverse

from stock.models import Item, Supplier
from tests.factories.stock import ItemFactory, SupplierFactory, receipt

pytestmark = pytest.mark.django_db
D = Decimal
NEW = {"name": "Rim, No 1", "kind": "shoe", "fits": "front", "side": "any", "unit": "each", "pack_size": "10"}


def test_how_sure_to_have_enough_is_typed_in_percent(browser):
    address = reverse("stock:item-add")

    assert browser.get(address).context["form"]["service_level"].value() == "95"
    browser.post(address, NEW | {"service_level": "99.5"})

    item = Item.objects.get()
    shown = browser.get(reverse("stock:item-change", args=[item.pk])).context["form"]
    assert (item.service_level, shown["service_level"].value()) == (D("0.995"), "99.5")


def test_what_cannot_be_is_refused_in_plain_words(browser):
    typed = {"service_level": "100", "kind": "", "lead_time_days": "-1", "size": "x" * 41, "supplier": "7"}

    answer = browser.post(reverse("stock:item-add"), NEW | typed)

    assert answer.context["form"].errors == {
        "service_level": ["Type a number up to 99.9999, such as 95."],
        "kind": ["This cannot be blank."],
        "lead_time_days": ["Type a whole number from 0 to 365."],
        "size": ["Type at most 40 characters."],
        "supplier": ["Choose one from the list."],
    }
    assert Item.objects.count() == 0


def test_lists_say_in_words_that_nothing_is_chosen(browser):
    form = browser.get(reverse("stock:item-add")).context["form"]

    blank = [list(form.fields[name].choices)[0][1] for name in ("kind", "supplier")]
    assert blank == ["Choose one", "None"]


def test_suppliers_and_orders_are_found_by_what_is_typed(browser):
    tarn, ember = SupplierFactory(name="Tarn Iron"), SupplierFactory(name="Ember Supply")
    tarn.orders.create(ref="O-2026-0001", ordered_on="2026-10-14")
    ember.orders.create(ref="O-2026-0002", ordered_on="2026-10-14")

    def found(name, words):
        return [row.record for row in browser.get(reverse(name), {"q": words}).context["table"].rows]

    assert found("stock:supplier-list", "tarn") == [tarn]
    assert [order.ref for order in found("stock:order-list", "ember")] == ["O-2026-0002"]
    assert [order.ref for order in found("stock:order-list", "0001")] == ["O-2026-0001"]
    assert Supplier.objects.count() == 2


def test_the_ledger_of_an_item_is_searched(browser):
    item = ItemFactory()
    receipt(item, "10", "3")
    address = reverse("stock:item-detail", args=[item.pk])

    counts = [browser.get(address, {"q": words}).context["table"].counted for words in ("receipt", "waste")]

    assert counts == ["1 entry", "0 entries"]
