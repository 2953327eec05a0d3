"""Units of items are proposed by the names of CLDR (Unicode; in Babel). Any other word can be typed."""

import pytest

from practice.lib.unit_input import UnitInput, proposed_units
from tests.factories.practice import ProfileFactory


def test_units_are_proposed_by_their_names():
    assert proposed_units() == {
        "each": "counted one by one",
        "ml": "milliliters",
        "l": "liters",
        "fl oz": "fluid ounces",
        "g": "grams",
        "kg": "kilograms",
        "oz": "ounces",
        "lb": "pounds",
        "ft": "feet",
        "m": "meters",
    }


def test_a_field_has_its_own_list_and_keeps_what_was_typed():
    html = UnitInput().render("unit", '"tube"', {"id": "id_unit"})

    assert (
        '<input type="text" name="unit" value="&quot;tube&quot;" id="id_unit" list="id_unit_units">' in html
    )
    assert '<datalist id="id_unit_units"><option value="each">counted one by one</option>' in html


@pytest.mark.django_db
def test_an_item_may_be_counted_in_any_word(browser):
    from stock.models import Item

    ProfileFactory()
    page = browser.get("/items/add/").text
    typed = {
        "name": "Glue",
        "kind": "adhesive",
        "fits": "any",
        "side": "any",
        "unit": "tube",
        "pack_size": "12",
    }

    browser.post("/items/add/", typed | {"service_level": "95"})

    assert 'list="id_unit_units"' in page
    assert [item.unit for item in Item.objects.all()] == ["tube"]
