from django.db import models

from practice.lib.mail import PLAIN, STARTTLS, TLS


class MailSettings(models.Model):
    """The server that takes this practice's mail: at most one row. The password is not here but in a file."""

    class Security(models.TextChoices):
        TLS = TLS, "TLS, usually port 465"
        STARTTLS = STARTTLS, "STARTTLS, usually port 587"
        PLAIN = PLAIN, "None, only for a server on this machine"

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    host = models.CharField(max_length=253)
    port = models.PositiveIntegerField(default=465)
    security = models.CharField(max_length=10, choices=Security, default=Security.TLS)
    username = models.CharField(max_length=254, blank=True, default="")
    from_name = models.CharField(max_length=200, blank=True, default="")
    from_address = models.CharField(max_length=254)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(pk=1), name="billing_mailsettings_is_one_row")
        ]

    def __str__(self):
        return self.host

    @classmethod
    def current(cls) -> "MailSettings | None":
        """Return the settings; None where mail was never set up."""
        return cls.objects.filter(pk=1).first()
