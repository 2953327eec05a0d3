"""Photos of a few of the demo practice's receipts, drawn when the book is made."""

from datetime import date
from io import BytesIO

# Categories with a picture, and what the receipt says was bought where the expense has no note.
PICTURED = {"tools and equipment": "Tools", "vehicle fuel": "Gasoline", "contract labor": "Help"}
PAPER, INK = "#f4f1e8", "#2b2b2b"


def pictures(expenses: list[dict]) -> dict[str, bytes]:
    """Return a receipt for the latest expense of each of some categories, by the expense's ref."""
    latest = {row["category"]: row for row in expenses if row["category"] in PICTURED}
    return {row["ref"]: picture_of(row) for row in latest.values()}


def picture_of(expense: dict) -> bytes:
    """Return a receipt as a JPEG: who sold, when, what, for how much."""
    from PIL import Image, ImageDraw, ImageFont

    paper = Image.new("RGB", (420, 520), PAPER)
    draw = ImageDraw.Draw(paper)
    day = date.fromisoformat(expense["date"])
    lines = [
        (40, 30, expense["vendor"]),
        (86, 20, f"{day:%B} {day.day}, {day.year}"),
        (180, 22, expense.get("note") or PICTURED[expense["category"]]),
        (290, 34, f"Total  ${expense['amount']}"),
        (400, 20, "Paid. Thank you."),
    ]
    for top, size, text in lines:
        draw.text((30, top), text, INK, ImageFont.load_default(size))
    for top in (140, 260, 360):
        draw.line((30, top, 390, top), INK, 2)
    out = BytesIO()
    paper.save(out, "JPEG", quality=80)
    return out.getvalue()
