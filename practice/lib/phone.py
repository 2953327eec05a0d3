"""Telephone numbers as links that a phone understands."""

from urllib.parse import quote


def sms_url(phone: str, text: str) -> str:
    """Return a link that opens the phone's messenger with a number and a text; blank without a number.

    RFC 5724: `sms:`, the number without what only makes it readable (RFC 3966, 5.1.1), the text as `body`.
    A number of this country is passed on as it was typed: phones know what to do with it.
    """
    number = "".join(char for char in phone if char in "+0123456789")
    if not any(char.isdigit() for char in number):
        return ""
    return f"sms:{number[:1]}{number[1:].replace('+', '')}?body={quote(text, safe='')}"
