"""What moves from one entry to another, in words. Pure."""

from collections.abc import Mapping

# By the names of models: one, and many.
THINGS = {
    "billto": ("payer", "payers"),
    "charge": ("charge", "charges"),
    "finding": ("finding", "findings"),
    "horse": ("horse", "horses"),
    "invoice": ("invoice", "invoices"),
    "invoiceline": ("invoice line", "invoice lines"),
    "lifeevent": ("entry of what has changed", "entries of what has changed"),
    "materialreturn": ("return", "returns"),
    "materialuse": ("material used", "materials used"),
    "movement": ("stock entry", "stock entries"),
    "orderline": ("order line", "order lines"),
    "owner": ("owner's share", "owner's shares"),
    "payment": ("payment", "payments"),
    "paymentchange": ("earlier version of a payment", "earlier versions of payments"),
    "price": ("price", "prices"),
    "sharedlink": ("shared link", "shared links"),
    "visit": ("stop", "stops"),
    "work": ("piece of work", "pieces of work"),
}


def thing(name: str, count: int) -> str:
    """Return what rows of a model are called, for so many."""
    one, many = THINGS.get(name, (name, f"{name}s"))
    return one if count == 1 else many


def in_words(counts: Mapping[str, int]) -> str:
    """Return what moved: `3 invoices, 1 payment`; blank where nothing did."""
    return ", ".join(f"{count} {thing(name, count)}" for name, count in counts.items() if count)
