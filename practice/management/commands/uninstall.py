"""`manage.py uninstall`: undoes `install`. The book stays."""

from practice.project.book_command import BookCommand


class Command(BookCommand):
    help = "Keeps Roundbook from starting when this computer does. The book stays."
    requires_system_checks = []

    def handle(self, **options):
        from practice.project.autostart.carrying_out import installation_here, take_back
        from practice.project.autostart.installed_server import this_server

        server = this_server(None)
        gone = take_back(installation_here(server), server.secrets_file)
        for path in gone:
            self.stdout.write(f"Deleted: {path}")
        self.stdout.write(
            "Roundbook no longer starts when this computer does. The book stays where it is."
            if gone
            else "Roundbook was not set up to start with this computer. Nothing was changed."
        )
