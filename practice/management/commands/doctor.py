"""`manage.py doctor`: looks the book over, and says what to do about what is wrong. It changes nothing."""

from dataclasses import asdict

from django.conf import settings

from practice.lib.formats import counted
from practice.project.book_command import BookCommand
from practice.project.exits import EnvironmentProblem


class Command(BookCommand):
    help = "Looks the book over and says what to do about what is wrong. It changes nothing."
    offers_json = True
    requires_system_checks = []

    def handle(self, *, json, **options):
        from practice.project.doctor.checkup import look_over

        checkup = look_over(self.show_progress)
        if json:
            self.print_json({"data": str(settings.DATA_DIR), **asdict(checkup)})
        else:
            self.print_in_words(checkup)
        if not checkup.faults:
            return
        wrong = f"{counted(len(checkup.faults), 'problem')} found."
        if all(fault.of_machine for fault in checkup.faults):
            raise EnvironmentProblem(wrong)
        self.refuse(wrong)

    def print_in_words(self, checkup) -> None:
        self.stdout.write("\n".join(f"{name}: {version}" for name, version in checkup.versions.items()))
        self.stdout.write(f"Data folder: {settings.DATA_DIR}")
        self.stdout.write(f"Looked at: {', '.join(checkup.looked_at) or 'nothing'}.")
        if checkup.left_out:
            self.stdout.write(f"Not looked at: {', '.join(checkup.left_out)}.")
        for number, fault in enumerate(checkup.faults, start=1):
            self.stdout.write(f"\n{number}. {fault.what}\n   What to do: {fault.remedy}")
        if not checkup.faults:
            self.stdout.write("All is well.")
