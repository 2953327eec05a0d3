from django.db import models

from practice.lib.rows import Archivable


class Sign(Archivable):
    """What a foot can show, as the practice names it. `for_vet`: whoever sees it calls the veterinarian.

    `position` is its place in the list. A finding keeps the name that it was recorded by.
    """

    name = models.CharField(max_length=60)
    for_vet = models.BooleanField(default=False)
    position = models.PositiveSmallIntegerField(default=0)

    def __str__(self):
        return self.name
