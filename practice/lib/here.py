"""A position in a form: two numbers that the device can fill in, where the browser allows it."""

from decimal import Decimal

from practice.lib import formats
from practice.lib.forms import BookFields


def let_device_fill_in(form: BookFields, latitude: str, longitude: str) -> None:
    """Bound the two fields of a position in degrees, and mark them for `static/js/here.js`."""
    for name, part, high, example in (
        (latitude, "latitude", 90, "40.81"),
        (longitude, "longitude", 180, "-96.7"),
    ):
        field = form.fields[name]
        field.low, field.high, field.example = Decimal(-high), Decimal(high), example
        field.widget.attrs |= {"data-here": part, "data-mark": formats.decimal_mark(form.profile.locale)}
