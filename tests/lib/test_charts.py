"""Charts and figures, worked out from plain numbers."""

from practice.lib.charts import BOTTOM, TOP, columns, course, round_step
from practice.lib.figures import FigureRow, FigureTable


def test_ticks_are_round_and_hold_every_value_and_zero():
    ticks = columns([3, -1.5, 7], ["a", "b", "c"]).frame.ticks

    assert [tick.value for tick in ticks] == [-5, 0, 5, 10]
    assert (ticks[0].at, ticks[-1].at) == (BOTTOM, TOP)
    assert [round_step(span) for span in (0.9, 7, 30, 4000)] == [0.5, 2, 10, 1000]


def test_a_column_stands_on_zero_and_the_best_stands_out():
    chart = columns([3, -1.5, 7], ["a", "b", "c"], best=2)

    feet = [(bar.y + bar.height if bar.value > 0 else bar.y) for bar in chart.columns]
    assert feet == [chart.frame.zero] * 3
    assert [bar.best for bar in chart.columns] == [False, False, True]


def test_a_course_holds_each_value_until_the_next_day():
    drawn = course([2, 1], [1, 0], [2, 2])

    assert drawn.line == "M44.0 30.0L352.0 30.0L352.0 108.0"


def test_each_figure_of_a_table_knows_its_column():
    row, total = FigureRow("May", ("5", "3")), FigureRow("Total", ("5", "3"))
    table = FigureTable(("Month", "Received", "Spent"), (row,), (total,))

    assert table.body == [(row, [("Received", "5"), ("Spent", "3")])]
    assert table.foot == [(total, [("Received", "5"), ("Spent", "3")])]
