"""The form of a stop's times."""

from datetime import time

from practice.forms.visits import time_field
from practice.lib.forms import BookForm
from practice.models import Horse, Visit


class VisitTimesForm(BookForm):
    """When we came to a stop, worked on each horse there, and left it."""

    arrived = time_field("Arrived")
    leave = time_field("Left")

    def __init__(self, *args, row: Visit, **kwargs):
        super().__init__(*args, row=row, **kwargs)
        self.horses = list(Horse.objects.filter(work__visit=row).distinct().order_by("name", "pk"))
        known = {each.horse_id: each for each in row.times.all()}
        for horse in self.horses:
            for name, word in (("began", "begun"), ("finished", "finished")):
                field = f"{name}_{horse.pk}"
                self.fields[field] = time_field(f"{horse}, {word}")
                self.initial[field] = getattr(known.get(horse.pk), name, None)
        self.order_fields([name for name in self.fields if name != "leave"])
        self.fit(self.profile)

    def clean(self):
        for horse in self.horses:
            began, finished = self._times_of(horse)
            if (began is None) != (finished is None):
                blank = "finished" if began else "began"
                self.add_error(f"{blank}_{horse.pk}", "Type both times, or leave both blank.")
        return super().clean()

    def _times_of(self, horse: Horse) -> tuple[time | None, time | None]:
        return self.cleaned_data.get(f"began_{horse.pk}"), self.cleaned_data.get(f"finished_{horse.pk}")

    def horse_times(self) -> dict[Horse, tuple[time, time] | None]:
        """Return from when to when each horse was worked on; None where that is blank."""
        times = {horse: self._times_of(horse) for horse in self.horses}
        return {horse: known if known[0] else None for horse, known in times.items()}
