"""A horse's record on one page, for its owner or its veterinarian: plain values already in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from io import BytesIO

from practice.actions.photos import photo_file
from practice.lib import formats
from practice.lib.letterhead import Letterhead, letterhead
from practice.lib.pdf import render_pdf
from practice.lib.profile import Profile
from practice.models import FootRecord, Horse, Photo
from practice.reports.history import past_visits, visits_with
from practice.reports.prescribed import prescribed_lines
from practice.reports.records import GONE
from practice.reports.shoeing import HowShod, ShodFoot, feet_of, measured
from practice.rules.horse_work import FEET
from practice.rules.one_page import ROOMS, Room, cut, left_out

MOST_PHOTOS = 4
TEMPLATE = "pdf/horse_record.html"
CAUTION = (
    "Signs are recorded as they were seen and are not a diagnosis. Lameness, heat, pus, a wound, or something"
    " driven into the foot: call the veterinarian. Leave in what is stuck in the foot until they say."
)


@dataclass(frozen=True)
class PaperPart:
    """Rows under a heading, each when and what; `more` says how many are left out."""

    heading: str
    rows: list[tuple[str, str]]
    more: str = ""


@dataclass(frozen=True)
class FootOnPaper:
    """A foot: of each thing its name, what it is, and what it was where that changed."""

    name: str
    lines: list[tuple[str, str, str]]


@dataclass(frozen=True)
class PhotoOnPaper:
    """A photo: its asset's address, what a screen reader says, and the words under it."""

    src: str
    alt: str
    words: str


@dataclass(frozen=True, kw_only=True)
class HorseRecordPaper(Letterhead):
    """`about` is breed and birth, `shod` when the feet were shod as `feet` says."""

    horse: str
    about: str
    facts: list[tuple[str, str]]
    shod: str
    feet: list[FootOnPaper]
    left: list[PaperPart]
    right: list[PaperPart]
    photos: list[PhotoOnPaper]
    caution: str


def horse_record_pdf(
    horse: Horse, on: date, profile: Profile, photos: Sequence[Photo] = (), with_owners: bool = False
) -> bytes:
    """Return the record of a horse as PDF, on one page: a long history is cut, and says so."""
    for room in ROOMS:
        paper = horse_record_paper(horse, on, profile, room, photos, with_owners)
        content = render_pdf(TEMPLATE, {"paper": paper})
        if is_one_page(content):
            break
    return content


def is_one_page(content: bytes) -> bool:
    from pypdf import PdfReader

    return len(PdfReader(BytesIO(content)).pages) == 1


def horse_record_paper(
    horse: Horse,
    on: date,
    profile: Profile,
    room: Room = ROOMS[0],
    photos: Sequence[Photo] = (),
    with_owners: bool = False,
) -> HorseRecordPaper:
    """Return what the record says; `with_owners`: also whose horse it is."""
    feet = feet_of(horse, on, profile)
    born = f"born {horse.born}" if horse.born else ""
    status = f"It {GONE[horse.status]}" if horse.status in GONE else ""
    return HorseRecordPaper(
        **letterhead(profile, profile.locale),
        horse=cut(horse.name, room.letters),
        about=cut(", ".join(filter(None, [horse.breed, born, status])), room.letters),
        facts=facts_of(horse, on, profile, with_owners, room),
        shod=when_shod(feet.shod, profile) if feet.shod else "",
        feet=[foot_on_paper(foot, room) for foot in feet.shod.feet] if feet.shod else [],
        left=filled(prescriptions_part(horse, on, profile, room), findings_part(horse, profile, room)),
        right=filled(measures_part(horse, on, profile, room), work_part(horse, profile, room)),
        photos=[photo_on_paper(photo, profile, room) for photo in photos[:MOST_PHOTOS] if is_there(photo)],
        caution=CAUTION,
    )


def when_shod(shod: HowShod, profile: Profile) -> str:
    """Say when the feet were shod as they are, and what the marks compare with."""
    words = f"As shod {formats.medium_date(shod.visit.date, profile.locale)}."
    if not shod.changed:
        return words
    return f"{words} ▲ changed since {formats.medium_date(shod.before.date, profile.locale)}."


def filled(*parts: PaperPart) -> list[PaperPart]:
    return [part for part in parts if part.rows]


def facts_of(
    horse: Horse, on: date, profile: Profile, with_owners: bool, room: Room
) -> list[tuple[str, str]]:
    owners = [owner.client.name for owner in horse.owners.on(on).select_related("client")]
    facts = [
        ("Place", str(horse.place or "")),
        ("Owner" if len(owners) == 1 else "Owners", formats.listed(owners) if with_owners else ""),
        ("Date", formats.medium_date(on, profile.locale)),
    ]
    return [(label, cut(words, room.letters)) for label, words in facts if words]


def foot_on_paper(foot: ShodFoot, room: Room) -> FootOnPaper:
    lines = [
        (line.name, cut(line.value, room.in_a_foot), cut(line.was, room.in_a_foot)) for line in foot.lines
    ]
    return FootOnPaper(foot.name, lines)


def prescriptions_part(horse: Horse, on: date, profile: Profile, room: Room) -> PaperPart:
    lines = prescribed_lines(horse, on, profile)[::-1]
    rows = [(line.who, cut(line.what, room.letters)) for line in lines[: room.rows]]
    return PaperPart("Prescribed", rows, left_out(len(lines), room, "prescription"))


def findings_part(horse: Horse, profile: Profile, room: Room) -> PaperPart:
    findings = horse.findings.select_related("visit").order_by("-visit__date", "-pk")
    rows = []
    for row in findings[: room.rows]:
        said = [row.kind, row.marked, f"{row.get_foot_display().lower()}, {row.zone}", row.note]
        if row.told_who:
            said.append(f"told {row.told_who}")
        if row.resolved_on:
            said.append(f"seen to {formats.medium_date(row.resolved_on, profile.locale)}")
        day = formats.medium_date(row.visit.date, profile.locale)
        rows.append((day, cut("; ".join(words.rstrip(".") for words in said if words), room.letters)))
    return PaperPart("Findings, as seen", rows, left_out(findings.count(), room, "finding"))


def measures_part(horse: Horse, on: date, profile: Profile, room: Room) -> PaperPart:
    """Return what was measured at the last visits, all feet of a visit in one row."""
    records = horse.feet.filter(visit__date__lte=on).exclude(angle=None, toe_length=None)
    by_visit: dict[date, dict[str, FootRecord]] = {}
    for record in records.select_related("visit").order_by("-visit__date", "-visit"):
        by_visit.setdefault(record.visit.date, {}).setdefault(record.foot, record)
    days = list(by_visit)
    rows = []
    for day in days[: room.rows]:
        feet = [f"{foot} {measured(by_visit[day][foot], profile)}" for foot in FEET if foot in by_visit[day]]
        rows.append((formats.medium_date(day, profile.locale), "; ".join(feet)))
    return PaperPart("Measured: angle, toe length", rows, left_out(len(days), room, "measurement"))


def work_part(horse: Horse, profile: Profile, room: Room) -> PaperPart:
    visits = past_visits(horse, limit=room.rows)
    rows = [
        (formats.medium_date(past.date, profile.locale), cut(past.services or "Materials", room.letters))
        for past in visits
    ]
    return PaperPart("Last work", rows, left_out(visits_with(horse).count(), room, "visit"))


def is_there(photo: Photo) -> bool:
    return bool(photo.file) and photo_file(photo.file).is_file()


def photo_on_paper(photo: Photo, profile: Profile, room: Room) -> PhotoOnPaper:
    words = f"{photo.get_what_display()}, {formats.medium_date(photo.taken_on, profile.locale)}"
    alt = f"{words}: {photo.note}" if photo.note else words
    return PhotoOnPaper(f"asset:///photos/{photo.file}", alt, cut(alt, room.letters))
