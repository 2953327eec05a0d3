from django.db import models
from django.db.models import Q


class PhoneEntryQuerySet(models.QuerySet):
    def to_settle(self):
        """What was recorded and could not be saved, in the order in which it was recorded."""
        return self.filter(state=PhoneEntry.State.TO_SETTLE).order_by("at", "pk")

    def discarded_since(self, moment):
        """What was discarded after a moment, the last on top."""
        discarded = self.filter(state=PhoneEntry.State.DISCARDED, settled_at__gt=moment)
        return discarded.order_by("-settled_at", "-pk")


class PhoneEntry(models.Model):
    """A form that was sent from a phone's store, and what became of it: sent again it gets the same answer.

    `uuid` is that of the form's press, and of the row that it adds. `at` is when it was recorded, by the
    phone's clock set right to this one's. What is saved is in the book, so only what is to settle has
    `fields`, pairs of name and value, and `files`: the field of each, its name here and that on the phone.
    """

    class State(models.TextChoices):
        SAVED = "saved", "Saved"
        TO_SETTLE = "to settle", "To settle"
        SETTLED = "settled", "Settled"
        DISCARDED = "discarded", "Discarded"

    uuid = models.UUIDField(unique=True)
    login = models.CharField(max_length=150)
    at = models.DateTimeField()
    received_at = models.DateTimeField()
    path = models.TextField()
    title = models.TextField(blank=True, default="")
    fields = models.JSONField(default=list)
    files = models.JSONField(default=list)
    state = models.CharField(max_length=10, choices=State)
    code = models.CharField(max_length=60, blank=True, default="")
    message = models.TextField(blank=True, default="")
    then = models.TextField(blank=True, default="")
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_how = models.CharField(max_length=30, blank=True, default="")

    objects = PhoneEntryQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "phone entries"
        indexes = [
            models.Index(fields=["at"], condition=Q(state="to settle"), name="practice_phoneentry_to_settle")
        ]

    def __str__(self):
        return self.title or self.path
