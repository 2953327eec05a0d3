"""Where the US form asks for an expense."""

from billing.models import Expense
from billing.rules.vehicle_costs import VEHICLE_COSTS
from practice.lib.countries import SCHEDULE_C, country_of


def test_each_category_of_the_contract_has_its_line():
    assert tuple(SCHEDULE_C.lines) == Expense.CATEGORIES


def test_lines_are_those_of_the_contract():
    """Schedule C, current layout: the book's contract."""
    lines = {}
    for category in Expense.CATEGORIES:
        lines.setdefault(country_of("US").line_of(category), []).append(category)

    assert lines == {
        "8": ["advertising"],
        "10": ["commissions"],
        "11": ["contract labor"],
        "15": ["insurance"],
        "16b": ["interest"],
        "17": ["legal and professional"],
        "18": ["office"],
        "20b": ["rent"],
        "21": ["repairs and maintenance"],
        "22": ["supplies"],
        "22 ask: may be depreciated": ["tools and equipment"],
        "23": ["taxes and licenses"],
        "24a": ["travel"],
        "24b": ["meals"],
        "25": ["utilities"],
        "Part V": ["education", "card fees", "other"],
        "9 actual method only": [
            "vehicle fuel",
            "vehicle repairs",
            "vehicle insurance",
            "vehicle registration",
        ],
        "20a actual method only": ["vehicle lease"],
        "9": ["parking and tolls"],
    }


def test_outside_the_united_states_there_is_no_line():
    assert {country_of("GB").line_of(category) for category in Expense.CATEGORIES} == {""}


def test_the_actual_method_takes_what_only_it_may_take():
    lines = SCHEDULE_C.lines.items()

    assert tuple(name for name, line in lines if line.endswith("actual method only")) == VEHICLE_COSTS
