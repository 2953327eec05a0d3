from django.db import models


class Press(models.Model):
    """A form that was sent and what it saved led to, so that sent again it leads there and saves nothing.

    `uuid` came with the page of the form; `answers` has the address that followed, by a digest of the login
    and of all that was typed. It is written in the transaction of what was saved.
    """

    uuid = models.UUIDField(primary_key=True)
    answers = models.JSONField(default=dict)
    at = models.DateTimeField(db_index=True)

    def __str__(self):
        return f"{self.uuid}, sent {self.at:%Y-%m-%d %H:%M}"
