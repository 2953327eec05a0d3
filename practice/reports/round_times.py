"""How long a day's round takes: at each stop, on the road, and when one would be home."""

from collections.abc import Iterable
from datetime import datetime, time

from django.utils.text import capfirst

from practice.lib import formats
from practice.lib.profile import Profile
from practice.reports.vehicle_day import RoundStop, VehicleDay
from practice.reports.working_time import in_words, last_services, planned_times
from practice.rules.working_time import DAY, driving_minutes, minutes_between

MIDNIGHT = time(0)


def fill_in_times(parts: Iterable[VehicleDay], profile: Profile, now: datetime | None) -> None:
    """Say of each planned stop how long its due horses take, and of each vehicle what is still ahead of it.

    `now` is the moment that it is, where the day is today.
    """
    parts = list(parts)
    planned = [stop for part in parts for stop in part.stops if stop.is_planned]
    waiting = {row.horse.pk: row.last for stop in planned for row in waiting_at(stop) if row.last}
    times = planned_times(last_services(waiting))
    for stop in planned:
        known = [times[row.horse.pk].minutes for row in waiting_at(stop) if row.horse.pk in times]
        stop.minutes = sum(known) or None
    for part in parts:
        part.ahead = ahead_of(part, profile, now)


def waiting_at(stop: RoundStop) -> list:
    """Return the horses due at a stop for which nothing is saved yet."""
    return [row for row in stop.due if row.horse not in stop.horses and not row.is_elsewhere]


def ahead_of(part: VehicleDay, profile: Profile, now: datetime | None) -> str:
    """Return what is ahead of a vehicle: `From 9:15 AM: about 4 h of work …, home at about 2:10 PM.`"""
    stops = [stop for stop in part.stops if stop.is_planned]
    work = sum(stop.minutes or 0 for stop in stops)
    if not work:
        return ""
    home = part.way_home if part.proposals and not part.is_home else None
    drives = [None if stop.visit.is_here else stop.about for stop in stops]
    road = [minutes_on_road(far, profile) for far in drives]
    way_home = minutes_on_road(home, profile)
    words = f"{in_words(work)} of work"
    if driving := sum(road) + way_home:
        words += f" and {in_words(driving)} of driving"
    if now is None:
        return f"{capfirst(words)}."
    at = minutes_between(MIDNIGHT, now.time())
    for stop, minutes in zip(stops, road, strict=True):
        at += minutes
        if stop.visit.arrive and not stop.visit.arrived:
            at = max(at, minutes_between(MIDNIGHT, stop.visit.arrive))
        at += stop.minutes or 0
    end = at + way_home
    begin = formats.clock(now.time(), profile.locale)
    if end >= DAY:
        return f"From {begin}: {words}."
    done = "home" if way_home else "done"
    return f"From {begin}: {words}, {done} at about {formats.clock(time(*divmod(end, 60)), profile.locale)}."


def minutes_on_road(distance, profile: Profile) -> int:
    return driving_minutes(distance, profile.unit.an_hour) if distance else 0
