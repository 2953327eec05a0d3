"""The date that views and commands ask for."""

from datetime import date

from django.utils import timezone

from practice.lib.today import today


def test_today_is_the_date_in_the_practices_time_zone(settings):
    settings.TODAY = None

    before, told, after = timezone.localdate(), today(), timezone.localdate()

    assert before <= told <= after


def test_the_environment_fixes_the_date(settings):
    settings.TODAY = date(2026, 10, 14)

    assert today() == date(2026, 10, 14)
