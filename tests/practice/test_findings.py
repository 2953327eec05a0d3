"""What was seen on a horse is shown at its next visits until it is marked as seen to."""

from datetime import UTC, date, datetime, timedelta

import pytest

from practice.actions.findings import record_finding, reopen_finding, resolve_finding
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Finding
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from practice.reports.earlier_findings import earlier_findings
from tests.factories.practice import (
    DAY,
    FindingFactory,
    HorseFactory,
    ProfileFactory,
    VisitFactory,
    WorkFactory,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def practice():
    return ProfileFactory()


@pytest.fixture
def horse():
    return HorseFactory(name="Juniper")


def weeks_ago(weeks: int):
    return VisitFactory(date=DAY - timedelta(weeks=weeks), status="done")


def shown(horse, visit) -> list[tuple[str, str]]:
    return [(row.seen, row.when) for row in earlier_findings([horse], visit, Profile.current())]


def test_what_was_seen_is_shown_at_later_visits_what_is_for_the_veterinarian_first(horse):
    early, late, now = weeks_ago(12), weeks_ago(6), VisitFactory()
    FindingFactory(
        visit=early, horse=horse, kind="pus draining", zone="coronet", foot="RH", refer_to_vet=True
    )
    FindingFactory(visit=late, horse=horse, note="size of a coin")
    FindingFactory(visit=now, horse=horse)
    FindingFactory(visit=late)

    assert shown(horse, now) == [
        ("Pus draining: right hind, coronet.", "Seen July 22. For the veterinarian."),
        ("Red sole: left fore, sole.", "Seen September 2. Size of a coin."),
    ]
    assert shown(horse, early) == []


def test_after_three_visits_with_work_only_what_is_for_the_veterinarian_is_shown(horse):
    for weeks in (24, 18, 12, 6):
        visit = weeks_ago(weeks)
        WorkFactory(visit=visit, horse=horse)
        FindingFactory(visit=visit, horse=horse, kind=f"{weeks} weeks ago", refer_to_vet=weeks == 24)

    rows = earlier_findings([horse], VisitFactory(), Profile.current())

    assert [row.finding.kind for row in rows] == [f"{weeks} weeks ago" for weeks in (24, 6, 12, 18)]


def test_what_is_seen_to_is_shown_that_day_and_no_more_after_it(horse):
    finding = FindingFactory(visit=weeks_ago(6), horse=horse, refer_to_vet=True)

    resolve_finding(finding, DAY)
    resolve_finding(finding, DAY + timedelta(9))

    today, later = VisitFactory(), VisitFactory(date=DAY + timedelta(1))
    assert [row.is_resolved for row in earlier_findings([horse], today, Profile.current())] == [True]
    assert earlier_findings([horse], later, Profile.current()) == []
    assert Finding.objects.get().resolved_on == DAY

    reopen_finding(finding)
    assert [row.is_resolved for row in earlier_findings([horse], later, Profile.current())] == [False]


def test_findings_of_many_horses_take_two_queries(horse, django_assert_num_queries):
    visit = VisitFactory()
    horses = [horse, *(FindingFactory(visit=weeks_ago(6)).horse for _ in range(3))]

    with django_assert_num_queries(2):
        rows = earlier_findings(horses, visit, Profile(locale="en-US"))

    assert {row.horse for row in rows} == set(horses[1:])


def test_a_finding_is_not_seen_to_before_it_was_seen_nor_on_a_closed_day(horse, practice):
    finding = FindingFactory(visit=VisitFactory(date=DAY), horse=horse)
    practice.closed_through = DAY + timedelta(2)
    practice.save()

    with pytest.raises(RuleBroken) as too_early:
        resolve_finding(finding, DAY - timedelta(1))
    with pytest.raises(RuleBroken) as closed:
        resolve_finding(finding, DAY + timedelta(2))
    with pytest.raises(RuleBroken) as late:
        record_finding(finding.visit, horse, foot="LF", zone="sole", kind="heat")

    codes = [refusal.value.code for refusal in (too_early, closed, late)]
    assert codes == ["resolved_before_seen", "day_closed", "day_closed"]
    assert Finding.objects.values_list("kind", "resolved_on").get() == ("red sole", None)


def test_a_finding_that_is_seen_to_comes_back_in_the_book(horse, tmp_path, check_it_comes_back):
    told = {"told_who": "Dr. Quill", "told_at": datetime(2026, 9, 2, 15, 50, tzinfo=UTC)}
    FindingFactory(
        visit=weeks_ago(6), horse=horse, resolved_on=date(2026, 10, 1), marked="the size of a dime", **told
    )
    export_book(tmp_path / "season")

    header, row = (tmp_path / "season" / "findings.csv").read_text().splitlines()
    assert header.split(",")[-5:] == ["resolved_on", "marked", "told_who", "told_at", "uuid"]
    assert row.split(",")[-5:] == [
        "2026-10-01",
        "the size of a dime",
        "Dr. Quill",
        "2026-09-02T15:50:00+00:00",
        "",
    ]
    check_it_comes_back(tmp_path / "season")


def test_an_older_folder_brings_no_finding_twice_that_was_seen_to_since(horse, tmp_path):
    finding = FindingFactory(visit=weeks_ago(6), horse=horse, told_who="Dr. Quill")
    alike = FindingFactory(visit=finding.visit, horse=horse)
    export_book(tmp_path / "season")
    resolve_finding(finding, DAY)
    Finding.objects.filter(pk=alike.pk).update(marked="slight")

    report = import_book(tmp_path / "season")

    assert report.problems == []
    kept = Finding.objects.order_by("pk").values_list("told_who", "marked", "resolved_on")
    assert list(kept) == [("Dr. Quill", "", DAY), ("", "slight", None)]
