"""Rules of what is kept of a horse beside its work: photos, and its feet."""

from practice.models import Finding
from practice.project.book.checks.common import Checks
from practice.project.book.files_folder import FILES_CSV
from practice.project.book.files_horses import FEET, PHOTOS, PRESCRIPTIONS


def check_photos(checks: Checks) -> None:
    """A photo has one picture, and the finding that it shows is one of its horse."""
    having = set()
    for row in checks.new(FILES_CSV):
        known = checks.lookup.in_book(PHOTOS, row["photo"])
        if row["photo"] in having or (known is not None and known.file):
            checks.complain(row, "photo", f'"{row["photo"]}" already has a picture')
        having |= {row["photo"]} - {None}
    rows = [row for row in checks.new(PHOTOS) if row["finding"]]
    keys = {row["finding"] for row in rows}
    horses = {row["uuid"]: row["horse"] for row in checks.new("findings.csv") if row["uuid"]}
    for finding in Finding.objects.filter(uuid__in=keys).select_related("horse"):
        horses[finding.uuid] = finding.horse.key
    for row in rows:
        if row["finding"] not in horses:
            checks.complain(row, "finding", f'"{row["finding"]}" is not in findings.csv')
        elif horses[row["finding"]] != row["horse"]:
            checks.complain(row, "finding", "is of another horse")


def check_feet(checks: Checks) -> None:
    """A toe length has its unit."""
    for row in checks.new(FEET):
        if row["toe_length"] is not None and not row["toe_unit"]:
            checks.complain(row, "toe_unit", "is required if toe_length is given")


def check_prescriptions(checks: Checks) -> None:
    """A prescription ends after it begins, and names one shoe."""
    for row in checks.new_or_changed(PRESCRIPTIONS):
        checks.must_end_after_it_begins(row)
        if row["item"] and row["shoe"]:
            checks.complain(row, "shoe", "must be blank if item is given")
