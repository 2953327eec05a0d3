"""Rules of what is kept of a horse beside its work: photos."""

from practice.models import Finding
from practice.project.book.checks.common import Checks
from practice.project.book.files_folder import FILES_CSV
from practice.project.book.files_horses import PHOTOS


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
