"""What goes with a horse that is taken off a visit."""

from dataclasses import dataclass
from functools import cached_property

from django.utils.text import capfirst

from practice.lib.formats import counted
from practice.models import Horse, Photo, Visit
from practice.reports.history import PastVisit, at_visit


@dataclass(frozen=True)
class TakenOff:
    """A horse that is about to be taken off a visit."""

    visit: Visit
    horse: Horse

    @cached_property
    def recorded(self) -> PastVisit:
        return at_visit(self.visit, self.horse)

    @property
    def lead(self) -> str:
        """Say what is deleted, what goes back on the shelf, and what stays."""
        number = self.visit.findings.filter(horse=self.horse).count()
        findings = counted(number, "finding")
        materials = ["its materials"] if self.recorded.materials else []
        record = ["its shoeing record"] if self.visit.feet.filter(horse=self.horse).exists() else []
        gone = " and ".join([row for row in (self.recorded.services, *materials, *record) if row])
        if not (self.recorded.services or materials) and number:
            photos = ", photos included" if self._has_photos else ""
            return f"{' and '.join([f'Its {findings}', *record])} from this visit will be deleted{photos}."
        if not gone:
            return ""
        words = [f"{capfirst(gone)} will be deleted from this visit."]
        if materials and self.visit.status == Visit.Status.DONE:
            words.append("The materials go back into stock.")
        if number:
            words.append(f"Its {findings} {'stays' if number == 1 else 'stay'} on record.")
        return " ".join(words)

    @property
    def _has_photos(self) -> bool:
        return Photo.objects.filter(finding__visit=self.visit, finding__horse=self.horse).exists()
