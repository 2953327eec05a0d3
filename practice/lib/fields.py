"""Numbers kept exactly: a whole number of millionths in the database, a Decimal in Python.

SQLite adds a DecimalField as a binary float, so that an invoice of 0.80 paid 0.10 and 0.70 stays
open there. Whole numbers add, subtract and compare exactly on every database.
"""

from decimal import Decimal

from django.core import exceptions
from django.db import models
from django.db.models import Value
from django.db.models.expressions import Combinable, register_combinable_fields

from practice.lib.form_fields import NumberField
from practice.lib.millionths import LARGEST, OutOfRange, from_millionths, to_millionths


class ExactField(models.Field):
    """A number with up to six decimals, kept as a BIGINT of millionths.

    SQL adds, subtracts and compares such columns. A number put into an F() expression goes in as
    `exact(2)`: bare, it would count millionths. What is saved is below LARGEST.
    """

    description = "Exact decimal number (millionths)"
    empty_strings_allowed = False

    def get_internal_type(self):
        return "BigIntegerField"

    def to_python(self, value):
        if value is None or value == "":
            return None
        try:
            return from_millionths(to_millionths(value))
        except ValueError as error:
            raise exceptions.ValidationError(str(error), code="invalid") from error

    def get_prep_value(self, value):
        value = super().get_prep_value(value)
        return None if value is None else to_millionths(value)

    def get_db_prep_save(self, value, connection):
        """Return what the database keeps. Raises OutOfRange for what no practice comes near."""
        if isinstance(value, Decimal | int) and abs(value) >= LARGEST:
            raise OutOfRange
        return super().get_db_prep_save(value, connection)

    def from_db_value(self, value, expression, connection):
        return None if value is None else from_millionths(value)

    def value_to_string(self, obj):
        return str(self.value_from_object(obj))

    def formfield(self, **kwargs):
        return super().formfield(**{"form_class": NumberField, **kwargs})


for _op in (Combinable.ADD, Combinable.SUB):
    register_combinable_fields(ExactField, _op, ExactField, ExactField)


def exact(value: Decimal | int | str) -> Value:
    """Return a number as an SQL value that combines with exact columns: `F("total") - exact("0.25")`."""
    return Value(Decimal(value), output_field=ExactField())
