"""Files of the book are written and looked up without holding all of their rows."""

from weakref import WeakSet

import pytest

from practice.models import Place
from practice.project.book.files import files
from practice.project.book.streams import AT_ONCE, completed


@pytest.fixture
def many_places(db):
    Place.objects.bulk_create(Place(name=f"Barn {number}") for number in range(4 * AT_ONCE))


def test_a_file_lets_go_of_the_rows_that_are_through(many_places):
    [places] = [file for file in files() if file.name == "places.csv"]
    alive, most = WeakSet(), 0

    for row in places.stream():
        alive.add(row)
        most = max(most, len(alive))

    assert 1 <= most <= 2 * AT_ONCE


def test_rows_are_completed_some_hundred_at_a_time_and_stay_in_order(many_places):
    sizes = []

    def but_every_tenth(rows):
        sizes.append(len(rows))
        return [row for row in rows if row.pk % 10]

    names = [row.name for row in completed(Place.objects.order_by("pk"), but_every_tenth)]

    kept = Place.objects.order_by("pk").values_list("pk", "name")
    assert names == [name for key, name in kept if key % 10]
    assert sizes == [AT_ONCE] * 4
