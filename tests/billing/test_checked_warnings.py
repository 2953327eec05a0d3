"""Warnings that are right: marked for their day, shown again when the day changes, carried by the book."""

from datetime import timedelta

import pytest

from billing.actions.checking import check_again, mark_as_right
from billing.models import CheckedWarning
from billing.reports.closing import day_report
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Service, Visit
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from tests.factories.practice import (
    DAY,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def day(settings, tmp_path):
    """A day with a pair of fronts for which no shoes came off the truck, and a stop nobody went to."""
    settings.DATA_DIR, settings.TODAY = tmp_path, DAY
    ProfileFactory()
    fronts = ServiceFactory(name="Fronts", new_shoes=2, feet_nailed=2)
    VisitFactory(place=PlaceFactory(name="Quarry Hill"))
    return WorkFactory(visit=VisitFactory(status="done"), service=fronts)


def warned() -> list[str]:
    return [row.kind for row in day_report(DAY, Profile.current(), DAY).warnings]


def no_shoes():
    return next(row for row in day_report(DAY, Profile.current(), DAY).warnings if row.kind == "no_shoes")


def test_a_warning_marked_as_right_is_gone_until_that_is_undone(browser):
    warning = no_shoes()
    address = f"/close/{DAY.isoformat()}/"
    page = browser.get(address).content.decode()
    assert (sorted(warned()), page.count("It is right")) == (["no_shoes", "planned"], 1)

    for _ in range(2):
        browser.post(f"{address}right/", {"text": warning.text})
        assert warned() == ["planned"]
    assert browser.get(address).context["page"].heading == "Nothing to issue yet. 2 things to check."

    browser.post(f"{address}right/", {"text": warning.text, "again": "1"})
    assert sorted(warned()) == ["no_shoes", "planned"]


def test_it_holds_for_what_it_said_and_for_its_day_alone(day):
    mark_as_right(DAY, no_shoes().text)
    Service.objects.update(name="Front pair")

    assert sorted(warned()) == ["no_shoes", "planned"]
    Service.objects.update(name="Fronts")
    Visit.objects.filter(pk=day.visit.pk).update(date=DAY + timedelta(1))
    later = day_report(DAY + timedelta(1), Profile.current(), DAY).warnings
    assert [row.kind for row in later] == ["no_shoes"]


def test_what_has_to_be_entered_cannot_be_right():
    planned = next(r for r in day_report(DAY, Profile.current(), DAY).warnings if r.kind == "planned")

    for text in (planned.text, "nothing of the kind"):
        with pytest.raises(RuleBroken) as error:
            mark_as_right(DAY, text)
        assert error.value.code == "no_such_warning"
    assert CheckedWarning.objects.count() == 0


def test_a_closed_day_keeps_its_marks():
    text = no_shoes().text
    mark_as_right(DAY, text)
    Profile.objects.update(closed_through=DAY)

    for action in (mark_as_right, check_again):
        with pytest.raises(RuleBroken) as error:
            action(DAY, text)
        assert error.value.code == "day_closed"
    assert CheckedWarning.objects.count() == 1


def test_the_book_carries_it(tmp_path):
    text = no_shoes().text
    mark_as_right(DAY, text)
    export_book(tmp_path / "out")
    written = (tmp_path / "out" / "checked_warnings.csv").read_text(encoding="utf-8")
    CheckedWarning.objects.all().delete()

    for new in (1, 0):
        rows = import_book(tmp_path / "out").files
        assert [row["new"] for row in rows if row["file"] == "checked_warnings.csv"] == [new]
    export_book(tmp_path / "again")

    assert written.splitlines()[0] == "date,warning"
    assert (tmp_path / "again" / "checked_warnings.csv").read_text(encoding="utf-8") == written
    assert list(CheckedWarning.objects.values_list("date", "text")) == [(DAY, text)]
