import django.db.models.deletion
from django.db import migrations, models


def special_for(thing: str) -> models.ForeignKey:
    return models.ForeignKey(
        blank=True,
        null=True,
        on_delete=django.db.models.deletion.PROTECT,
        related_name="prices",
        to=f"practice.{thing}",
    )


class Migration(migrations.Migration):
    dependencies = [
        ("billing", "0023_disputes_begin_once_a_day"),
        ("practice", "0008_home_statement"),
        ("stock", "0013_index_of_counts"),
    ]
    operations = [
        *(
            migrations.AddField(model_name="price", name=thing, field=special_for(thing))
            for thing in ("horse", "client", "place")
        ),
        migrations.AddConstraint(
            model_name="price",
            constraint=models.CheckConstraint(
                condition=models.Q(horse__isnull=True, client__isnull=True)
                | models.Q(horse__isnull=True, place__isnull=True)
                | models.Q(client__isnull=True, place__isnull=True),
                name="billing_price_is_special_for_one_thing",
            ),
        ),
    ]
