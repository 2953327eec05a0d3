"""`manage.py install`: lets Roundbook start with the machine."""

from pathlib import Path

from django.contrib.auth import get_user_model

from practice.management.commands.start import port_number, refuse_phones_behind_another_server
from practice.project.book_command import BookCommand
from practice.project.server import FIRST_PORT, listen


class Command(BookCommand):
    help = "Makes Roundbook start when this computer does, at the same address each time."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("--port", type=port_number, help=f"the port it answers on; else {FIRST_PORT}")
        parser.add_argument(
            "--phones",
            action="store_true",
            help="also serve phones and computers in your own network, by https",
        )
        parser.add_argument(
            "--to",
            type=Path,
            metavar="FOLDER",
            help="only write the files, below this folder, and start nothing",
        )

    def handle(self, *, port, phones, to, **options):
        from practice.project.autostart import carrying_out
        from practice.project.autostart.installations import below
        from practice.project.autostart.installed_server import this_server

        if not get_user_model().objects.exists():
            self.refuse(
                "There is no login yet. Start Roundbook once by hand, with `python3 manage.py start`,"
                " and note the login that it prints."
            )
        if phones:
            refuse_phones_behind_another_server()
        server = this_server(port, phones)
        installation = carrying_out.installation_here(server, to_look_at=bool(to))
        if to:
            installation = below(installation, to)
        carrying_out.check(server, installation)
        if not to and not any(file.path.exists() for file in installation.files):
            listen(server.port).close()
        carrying_out.write(installation)
        missing = [] if to else carrying_out.begin(installation)
        for file in installation.files:
            self.stdout.write(f"Written: {file.path}")
        if to:
            return
        self.stdout.write(f"Roundbook now starts when this computer does. Open {server.url}")
        self.stdout.write(
            "\n".join([*missing, *installation.advice, "To undo this: python3 manage.py uninstall"])
        )
