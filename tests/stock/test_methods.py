"""Another method of costing from a day on: what was costed before that day stays."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from stock.actions.methods import change_method, method_of, undo_change
from stock.actions.movements import NewFact, add_facts
from stock.actions.valuing import value_items
from stock.models import Checkpoint, Valuation, ValuationChange
from stock.rules.costing import work_out
from stock.rules.facts import CostingState
from tests.factories.stock import ItemFactory, receipt
from tests.project.test_book_errors import put
from tests.stock.balances import balances_that_differ
from tests.stock.stories import AVERAGE, FIFO, FIRST, rows, story
from tests.stock.test_costing_properties import STEPS, facts_from

D = Decimal
CHANGES = st.lists(
    st.tuples(st.integers(0, 20).map(lambda n: FIRST + timedelta(n)), st.sampled_from([AVERAGE, FIFO])),
    max_size=3,
    unique_by=lambda change: change[0],
).map(sorted)


def test_fifo_from_a_day_begins_with_one_layer_of_the_value_and_average_takes_the_value_as_it_is():
    facts = story(
        ("receipt", 10, "2"), ("receipt", 10, "4"), ("use", 2), ("receipt", 10, "6"), ("use", 20), ("use", 4)
    )  # fmt: skip
    changes = [(FIRST + timedelta(3), FIFO), (FIRST + timedelta(5), AVERAGE)]

    ledger = work_out(facts, AVERAGE, changes=changes)

    # 18 at 3 and 10 at 6: 18 × 3 + 2 × 6 go first; then four of what is left, 8 at 6.
    assert rows(ledger)[2:] == [
        ("use", "-2", "-6.0000", "18", "54.0000"),
        ("receipt", "10", "60.0000", "28", "114.0000"),
        ("use", "-20", "-66.0000", "8", "48.0000"),
        ("use", "-4", "-24.0000", "4", "24.0000"),
    ]


@given(STEPS, st.sampled_from([AVERAGE, FIFO]), CHANGES)
def test_a_change_touches_nothing_before_its_day(steps, method, changes):
    facts = facts_from(steps)
    days = {fact.key: fact.date for fact in facts}

    without, changed = work_out(facts, method, changes=changes[:-1]), work_out(facts, method, changes=changes)

    until = changes[-1][0] if changes else date.max
    before = [row for row in without.rows if days[row.fact] < until]
    assert changed.rows[: len(before)] == before
    assert sum((row.cost for row in changed.rows), D(0)) == changed.state.value
    assert changed.state.quantity != 0 or changed.state.value == 0


@given(STEPS, st.sampled_from([AVERAGE, FIFO]), CHANGES, st.integers(0, 25))
def test_going_on_from_a_state_across_changes_is_the_same_as_beginning_anew(steps, method, changes, cut):
    facts = facts_from(steps)

    before = work_out(facts[:cut], method, changes=changes)
    resumed = CostingState.from_plain(before.state.as_plain())
    after = work_out(facts[cut:], method, resumed, changes=changes)

    whole = work_out(facts, method, changes=changes)
    assert before.rows + after.rows == whole.rows
    assert after.state.as_plain() == whole.state.as_plain()


def test_a_state_kept_before_methods_had_days_goes_on_by_the_first_one():
    facts = story(("receipt", 10, "2"), ("receipt", 10, "4"), ("use", 12), ("use", 3))
    stored = work_out(facts[:2], FIFO).state.as_plain()
    del stored["method"]

    ledger = work_out(facts[2:], FIFO, CostingState.from_plain(stored))

    assert [str(row.cost) for row in ledger.rows] == ["-28.0000", "-12.0000"]


def ledger_of(item):
    found = Valuation.objects.filter(item=item).order_by("position")
    return list(found.values_list("kind", "quantity", "cost", "on_hand", "value"))


def layers_and_uses():
    item = ItemFactory()
    receipt(item, "10", "2", on=FIRST)
    receipt(item, "10", "4", on=FIRST)
    add_facts([NewFact(item, FIRST + timedelta(n), "use", D(5)) for n in (1, 2, 3)])
    return item


@pytest.mark.django_db
def test_a_change_costs_what_stands_on_its_day_and_after_it_anew():
    Profile.objects.create(name="x", valuation=FIFO)
    item = layers_and_uses()
    before = ledger_of(item)

    change = change_method(FIRST + timedelta(2), AVERAGE)

    # 15 worth 50 are left when the average begins.
    changed = [("use", -5, D("-16.6667"), 10, D("33.3333")), ("use", -5, D("-16.6667"), 5, D("16.6666"))]
    assert ledger_of(item) == before[:3] + changed
    assert [method_of(FIRST + timedelta(n)) for n in (1, 2)] == [FIFO, AVERAGE]
    undo_change(change)
    assert ledger_of(item) == before


@pytest.mark.django_db
def test_a_long_ledger_goes_on_from_a_checkpoint_across_a_change():
    item = ItemFactory()
    facts = [NewFact(item, FIRST + timedelta(n // 2), "use", D(2)) for n in range(450)]
    facts += [NewFact(item, FIRST + timedelta(n), "receipt", D(21), D(n + 1)) for n in range(0, 225, 5)]
    add_facts(facts)

    change_method(FIRST + timedelta(60), FIFO)
    change_method(FIRST + timedelta(180), AVERAGE)
    receipt(item, "4", "3.33", on=FIRST + timedelta(150))
    stored = ledger_of(item), list(Checkpoint.objects.order_by("positions").values_list("state", flat=True))

    value_items([item.pk])
    fresh = ledger_of(item), list(Checkpoint.objects.order_by("positions").values_list("state", flat=True))
    assert stored == fresh
    assert {state["method"] for state in stored[1]} == {AVERAGE, FIFO}
    assert balances_that_differ() == []


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("on", "method", "code"),
    [(FIRST, FIFO, "day_closed"), (FIRST + timedelta(2), AVERAGE, "method_holds_already")],
)
def test_a_closed_day_and_the_method_that_holds_already_are_refused(on, method, code):
    Profile.objects.create(name="x", closed_through=FIRST)
    item = layers_and_uses_in_open_days()
    before = ledger_of(item)

    with pytest.raises(RuleBroken) as refused:
        change_method(on, method)

    assert refused.value.code == code
    assert (ledger_of(item), ValuationChange.objects.count()) == (before, 0)


def layers_and_uses_in_open_days():
    item = ItemFactory()
    receipt(item, "10", "2", on=FIRST + timedelta(1))
    return item


@pytest.mark.django_db
def test_the_methods_stand_on_a_page_that_the_practice_leads_to(browser, settings):
    settings.TODAY = FIRST + timedelta(9)
    Profile.objects.create(name="x")
    address = reverse("stock:valuation-list")

    assert address in browser.get(reverse("practice:settings-shelf")).content.decode()
    browser.post(address, {"valid_from": (FIRST + timedelta(1)).isoformat(), "method": FIFO})
    again = browser.post(address, {"valid_from": (FIRST + timedelta(2)).isoformat(), "method": FIFO})

    assert again.context["form"].non_field_errors() == [
        "Stock is already valued by first in, first out on 2026-01-03. Choose the other method."
    ]
    [change] = ValuationChange.objects.all()
    assert "need the tax authority's consent" in again.content.decode()
    browser.post(reverse("stock:valuation-take-back", args=[change.pk]))
    assert ValuationChange.objects.count() == 0


PRACTICE = "name,locale,currency,distance_unit,valuation,closed_through\nGarrow,en-US,USD,mi,{},{}\n"
BOOK = {
    "items_csv": "ref,name,kind,unit\nshoe,Shoe,shoe,each\n",
    "materials_csv": "visit,horse,item,quantity\n",
    "purchases_csv": "date,item,quantity,unit_cost\n2026-01-02,shoe,10,2\n2026-01-03,shoe,10,4\n",
    "stock_facts_csv": "date,item,kind,quantity\n2026-01-04,shoe,waste,5\n2026-01-06,shoe,waste,5\n",
}


@pytest.mark.django_db
def test_a_book_with_changes_goes_out_and_comes_back_the_same(tmp_path, check_it_comes_back):
    files = BOOK | {
        "practice_csv": PRACTICE.format(FIFO, "2026-01-31"),
        "valuations_csv": "from,method\n2026-01-05,moving_average\n",
    }
    assert import_book(put(tmp_path / "season", **files)).problems == []
    export_book(tmp_path / "out")

    check_it_comes_back(tmp_path / "out")
    assert "2026-01-06,shoe,waste,-5,-16.6667" in (tmp_path / "out" / "stock_movements.csv").read_text()


@pytest.mark.django_db
def test_a_closed_year_is_not_costed_anew_by_another_method(tmp_path):
    files = BOOK | {"practice_csv": PRACTICE.format(FIFO, "2026-01-31")}
    import_book(put(tmp_path / "season", **files))
    before = list(Valuation.objects.order_by("position").values_list("cost", flat=True))
    other = {
        "practice_csv": PRACTICE.format(AVERAGE, "2026-01-31"),
        "valuations_csv": "from,method\n2026-01-31,moving_average\n",
    }

    report = import_book(put(tmp_path / "other", **BOOK | other))

    assert [str(problem) for problem in report.problems] == [
        "practice.csv:2: valuation: days up to 2026-01-31 are closed and were costed by fifo;"
        " use valuations.csv to change the method from a later day on",
        "valuations.csv:2: from: 2026-01-31 is closed for good (through 2026-01-31)",
    ]
    assert list(Valuation.objects.order_by("position").values_list("cost", flat=True)) == before
