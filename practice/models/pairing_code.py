from django.conf import settings
from django.db import models
from django.utils.crypto import salted_hmac

from practice.lib.characters import READ_ALOUD

LENGTH = 8


class PairingCode(models.Model):
    """The one code by which a login lets a phone in: it is deleted with its use.

    The code is nowhere kept. It is worked out from `seed` with the secret key, which is in no backup.
    """

    user = models.OneToOneField(settings.AUTH_USER_MODEL, models.CASCADE, primary_key=True, related_name="+")
    seed = models.CharField(max_length=32)
    ends_at = models.DateTimeField()
    wrong_tries = models.PositiveSmallIntegerField(default=0)

    def __str__(self):
        return f"for {self.user}, until {self.ends_at:%Y-%m-%d %H:%M}"

    @property
    def code(self) -> str:
        """Return it as it is typed, without the dash."""
        number = int.from_bytes(salted_hmac("pairing", self.seed, algorithm="sha256").digest())
        many = len(READ_ALOUD)
        return "".join(READ_ALOUD[number // many**place % many] for place in range(LENGTH))
