"""A choice is its value wherever it is kept, and has a label where it is read."""

from practice.lib.choices import ValuationMethod


def test_a_choice_is_its_value_and_has_a_label():
    chosen = ValuationMethod("fifo")

    assert (chosen, str(chosen), f"{chosen}", chosen.label) == ("fifo", "fifo", "fifo", "First in, first out")


def test_choices_are_listed_as_a_field_takes_them():
    assert ValuationMethod.choices() == [
        ("moving_average", "Moving weighted average"),
        ("fifo", "First in, first out"),
    ]
    assert ValuationMethod.values() == ["moving_average", "fifo"]
