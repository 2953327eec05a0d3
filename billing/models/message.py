from django.db import models
from django.db.models import Q
from django.urls import reverse

from practice.lib.rows import Referenced, ReferencedQuerySet


class MessageQuerySet(ReferencedQuerySet):
    def waiting(self):
        """Those that are to be sent."""
        return self.filter(state=Message.State.WAITING)

    def doubtful(self):
        """Those that may have arrived or not: the practice says which."""
        return self.filter(state=Message.State.DOUBTFUL)

    def refused_since(self, day):
        """Those of the days since then that were not sent."""
        return self.filter(state=Message.State.REFUSED, queued_at__date__gte=day)

    def on_their_way(self):
        """Those that were not refused: what they bring is sent, or will be."""
        return self.exclude(state=Message.State.REFUSED)

    def of(self, kinds, about: str):
        """The messages of these kinds about one thing, the latest first."""
        return self.filter(kind__in=kinds, about=about).order_by("-queued_at", "-pk")

    def in_state(self, state: str):
        """Those in a state; all of them where the state is not one."""
        return self.filter(state=state) if state in Message.State.values else self

    def named(self, words: str):
        """Those whose recipient, address, or subject holds these words; all where there are none."""
        if not words:
            return self
        return self.filter(Q(to_name__icontains=words) | Q(to__icontains=words) | Q(subject__icontains=words))


class Message(Referenced):
    """A letter by email: what it says, to whom, and how far it got.

    `kind` names one of `billing/papers/message_kinds`, `about` the key of the thing that it is about. What it
    carries is made when it is sent. `claim` is who is sending it, until `claimed_until`; `handed_over`: the
    server asked for its text, so from then on it may have arrived.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        SENDING = "sending", "Being sent"
        SENT = "sent", "Sent"
        REFUSED = "refused", "Not sent"
        DOUBTFUL = "doubtful", "Unconfirmed"

    kind = models.CharField(max_length=30)
    about = models.CharField(max_length=200)
    to_name = models.CharField(max_length=200, blank=True, default="")
    to = models.CharField(max_length=254)
    subject = models.CharField(max_length=300)
    text = models.TextField()
    message_id = models.CharField(max_length=400, unique=True)
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    queued_at = models.DateTimeField()
    tries = models.PositiveIntegerField(default=0)
    next_try = models.DateTimeField(null=True, blank=True)
    claim = models.UUIDField(null=True, blank=True)
    claimed_until = models.DateTimeField(null=True, blank=True)
    handed_over = models.BooleanField(default=False)

    objects = MessageQuerySet.as_manager()

    class Meta(Referenced.Meta):
        indexes = [
            models.Index(fields=["state", "next_try"], name="billing_message_to_send"),
            models.Index(fields=["kind", "about"], name="billing_message_about"),
        ]

    def __str__(self):
        return self.subject

    def get_absolute_url(self):
        return reverse("billing:message-detail", args=[self.pk])


class MessageAttempt(models.Model):
    """What happened to a message at one moment, with what the server said or who decided it."""

    class What(models.TextChoices):
        SENT = "sent", "Sent"
        LATER = "later", "Not accepted, to be tried again"
        REFUSED = "refused", "Not sent"
        DOUBTFUL = "doubtful", "May or may not have arrived"
        AGAIN = "again", "To be sent again"
        ARRIVED = "arrived", "Marked as arrived"

    message = models.ForeignKey(Message, on_delete=models.CASCADE, related_name="attempts")
    at = models.DateTimeField()
    what = models.CharField(max_length=10, choices=What)
    note = models.TextField(blank=True, default="")

    def __str__(self):
        return f"{self.get_what_display()}, {self.at}"


class MessageText(models.Model):
    """The practice's own wording of a kind of message; `days`: of a reminder, how long after the due date."""

    kind = models.CharField(max_length=30, unique=True)
    subject = models.CharField(max_length=300)
    text = models.TextField()
    days = models.PositiveIntegerField(null=True, blank=True)

    def __str__(self):
        return self.kind
