"""How this practice's mail is sent: the settings, the password in its file, a test message to oneself."""

import json
from datetime import datetime

from django.conf import settings

from billing.models import MailSettings
from practice.lib.errors import RuleBroken
from practice.lib.kept_files import replace_file
from practice.lib.mail import Letter, MailConnection, MailError, MailServer, new_message_id
from practice.lib.profile import Profile

PASSWORD_FILE = "mail_password"
TEST_PATIENCE_SECONDS = 15
THIS_MACHINE = ("localhost", "127.0.0.1", "::1")


def mail_server() -> MailServer | None:
    """Return the server to send by, with its password; None where mail is not set up.

    It is not set up either where there is a user name but no password for it here: a password is kept for
    one user of one server, and no other server ever gets it.
    """
    kept = MailSettings.current()
    if kept is None:
        return None
    password = kept_password(kept.host, kept.username)
    if kept.username and not password:
        return None
    return MailServer(kept.host, kept.port, kept.security, kept.username, password)


def is_set_up() -> bool:
    """Whether messages can be sent."""
    return mail_server() is not None


def check_set_up() -> None:
    """Raise RuleBroken("mail_not_set_up") where messages cannot be sent."""
    if not is_set_up():
        raise RuleBroken(
            "mail_not_set_up",
            "Mail is not set up. Enter your mail server on the page Mail, then send again.",
        )


def kept_password(host: str, username: str) -> str:
    """Return the password of this user of this server; blank where none is kept."""
    try:
        kept = json.loads((settings.DATA_DIR / PASSWORD_FILE).read_bytes())
    except (FileNotFoundError, ValueError):
        return ""
    return kept.get("password", "") if (kept.get("host"), kept.get("username")) == (host, username) else ""


def save_mail_settings(row: MailSettings, password: str) -> MailSettings:
    """Save how mail is sent. A blank password keeps the one there is, of the same user of the same server.

    The password goes into a file of the data folder that its owner alone can read, and into no backup. Raises
    RuleBroken("mail_password_missing") and RuleBroken("mail_password_in_the_open").
    """
    if row.username and not (password or kept_password(row.host, row.username)):
        raise RuleBroken("mail_password_missing", f"Type the password of {row.username} at {row.host}.")
    if row.security == MailSettings.Security.PLAIN and row.host not in THIS_MACHINE:
        raise RuleBroken(
            "mail_password_in_the_open",
            "Choose TLS or STARTTLS: without them, anyone between you and the server can read your mail.",
        )
    row.pk = 1
    row.save()
    if password:
        kept = {"host": row.host, "username": row.username, "password": password}
        replace_file(settings.DATA_DIR / PASSWORD_FILE, json.dumps(kept).encode())
    elif not row.username:
        (settings.DATA_DIR / PASSWORD_FILE).unlink(missing_ok=True)
    return row


def send_test(now: datetime) -> str:
    """Send a message to the practice's own address at once; return the server's answer.

    Raises RuleBroken("mail_not_set_up"), and RuleBroken("mail_test_failed") with what went wrong.
    """
    check_set_up()
    row = MailSettings.current()
    letter = Letter(
        message_id=new_message_id(row.from_address),
        sender_name=row.from_name,
        sender=row.from_address,
        to_name=row.from_name,
        to=row.from_address,
        subject="Test message from Roundbook",
        text=f"Mail is set up. Invoices of {Profile.current().name or 'your practice'} are sent from here.\n",
        date=now,
    )
    try:
        with MailConnection(mail_server(), TEST_PATIENCE_SECONDS) as connection:
            return connection.send(letter)
    except MailError as error:
        raise RuleBroken("mail_test_failed", f"The test message was not sent. {error}") from error
