"""Forms of messages, their wording, and how mail is sent."""

from django import forms

from billing.actions.sharing import OPENS_FOR
from billing.models import Dispute, MailSettings, Message, MessageText
from billing.papers.message_kinds import LINK, MessageKind
from billing.rules.wording import complaint, in_braces
from practice.lib.forms import BookForm, BookModelForm, Odd

LONG = {"rows": 12}


class SendForm(BookForm):
    """A message before it is sent. `before` are those about the same thing that were not refused."""

    to = forms.EmailField(label="To", max_length=254)
    subject = forms.CharField(label="Subject", max_length=300)
    text = forms.CharField(label="Text", widget=forms.Textarea)

    def __init__(self, *args, before: list[Message], **kwargs):
        super().__init__(*args, **kwargs)
        self.before = before
        self.fields["text"].widget.attrs |= LONG
        if LINK in self.initial.get("text", ""):
            self.fields["text"].help_text = f"{LINK} becomes a link that opens for {OPENS_FOR.days} days."

    def odd(self):
        if self.before:
            last = self.before[0]
            state = {"sent": "was sent", "doubtful": "may have arrived"}.get(last.state, "is being sent")
            yield Odd("sent_before", "to", f"This {state} to {last.to} already. Send it once more?")


class MailSettingsForm(BookModelForm):
    """The mail server. What is typed as a password is kept in a file, and never shown again."""

    ranges = {"port": (1, 65535)}
    password = forms.CharField(
        label="Password",
        required=False,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="Saved in your data folder, where only you can read it, and in no backup. It is never shown"
        " again. Leave this blank to keep the one you have.",
    )

    class Meta:
        model = MailSettings
        fields = ["host", "port", "security", "username", "password", "from_name", "from_address"]
        field_classes = {"from_address": forms.EmailField}
        labels = {
            "host": "Mail server",
            "port": "Port",
            "security": "Encryption",
            "username": "User name",
            "from_name": "Sender's name",
            "from_address": "Sender's address",
        }
        help_texts = {
            "host": "The server for outgoing mail (SMTP), such as mail.example.com. Ask your provider.",
            "username": "Leave blank if the server asks for none.",
            "from_address": "Replies come to this address.",
        }

    def clean_host(self):
        host = self.cleaned_data["host"].strip().lower()
        if not host or any(char.isspace() or char in "/@" for char in host):
            raise forms.ValidationError("Type the name of a server, such as mail.example.com.")
        return host


class MessageTextForm(BookForm):
    """The wording of a kind of message. A reminder also has the days after which it is proposed."""

    ranges = {"days": (1, 365)}
    subject = forms.CharField(label="Subject", max_length=300)
    text = forms.CharField(label="Text", widget=forms.Textarea)
    days = forms.IntegerField(label="Days after the due date")

    def __init__(self, *args, kind: MessageKind, row: MessageText | None = None, **kwargs):
        own = kind.own_wording()
        initial = {"subject": own.subject, "text": own.text, "days": own.days}
        super().__init__(*args, row=row, initial=initial, **kwargs)
        self.kind = kind
        self.fields["text"].widget.attrs |= LONG
        self.fields["text"].help_text = f"Words in braces are filled in: {in_braces(kind.examples())}."
        if own.days is None:
            del self.fields["days"]

    def _known(self, name: str) -> str:
        text = self.cleaned_data[name]
        if reason := complaint(text, self.kind.examples()):
            raise forms.ValidationError(reason, code="unknown")
        return text

    def clean_subject(self):
        return self._known("subject")

    def clean_text(self):
        return self._known("text")


class DisputeForm(BookModelForm):
    class Meta:
        model = Dispute
        fields = ["note"]
        labels = {"note": "What the client says"}
