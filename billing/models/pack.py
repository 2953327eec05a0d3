from django.db import models


class Pack(models.Model):
    """A pack that was made for the tax preparer; `figures` is the document that it gave, as JSON.

    What the book says of that year now can be held against them: that is what came late.
    """

    year = models.PositiveSmallIntegerField()
    made_on = models.DateField()
    made_at = models.DateTimeField(auto_now_add=True)
    figures = models.TextField()

    class Meta:
        indexes = [models.Index(fields=["year", "made_at"], name="billing_pack_by_year")]

    def __str__(self):
        return f"{self.year}, made on {self.made_on}"
