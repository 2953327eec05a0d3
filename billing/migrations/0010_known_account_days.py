from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("billing", "0009_account_days")]
    operations = []  # worked out the account days; practice/project/furnish.py now does where a book lacks them
