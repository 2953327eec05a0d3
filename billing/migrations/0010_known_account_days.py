from django.db import migrations

from billing.rules.accounts import standings


def bring(apps, schema_editor):
    """Work out where the accounts of a book that is there already stood."""
    client, invoice, payment, settlement, account_day = (
        apps.get_model(name)
        for name in (
            "practice.Client",
            "billing.Invoice",
            "billing.Payment",
            "billing.Settlement",
            "billing.AccountDay",
        )
    )
    for pk in client.objects.order_by("pk").values_list("pk", flat=True):
        paid = payment.objects.filter(client=pk).values_list("date", "amount", "tip")
        rows = standings(
            invoice.objects.filter(client=pk).values_list("issued", "total"),
            [(day, amount - tip) for day, amount, tip in paid],
            settlement.objects.filter(payment__client=pk).values_list("date", "amount"),
        )
        account_day.objects.bulk_create(
            [
                account_day(client_id=pk, date=row.date, open=row.open, credit=row.credit)
                for row in rows
            ],
            batch_size=500,
        )


def forget(apps, schema_editor):
    apps.get_model("billing.AccountDay").objects.all().delete()


class Migration(migrations.Migration):
    dependencies = [("billing", "0009_account_days")]
    operations = [migrations.RunPython(bring, forget)]
