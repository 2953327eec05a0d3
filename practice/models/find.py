from django.db import models


class FindEntry(models.Model):
    """A name or a phone number as the search compares it: `practice/project/find/` says how.

    `kind` is a model's name and `key` its row's. It is worked out from those rows, so no file of the book
    has it, and the names of both tables are not those of facts.
    """

    class Way(models.TextChoices):
        NAME = "name", "Name"
        PHONE = "phone", "Phone"

    kind = models.CharField(max_length=10)
    key = models.BigIntegerField()
    way = models.CharField(max_length=5, choices=Way)
    text = models.TextField()
    active = models.BooleanField(default=True)

    class Meta:
        db_table = "find_entry"
        constraints = [
            models.UniqueConstraint(fields=["kind", "key", "way"], name="find_entry_says_a_way_once")
        ]

    def __str__(self):
        return f"{self.kind} {self.key}: {self.text}"


class FindNote(models.Model):
    """A row that was added, changed or deleted since the search caught up; a trigger wrote it."""

    kind = models.CharField(max_length=10)
    key = models.BigIntegerField()

    class Meta:
        db_table = "find_note"

    def __str__(self):
        return f"{self.kind} {self.key}"
