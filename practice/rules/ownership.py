"""Who owns a horse after a sale. Pure: owners by their key, shares in percent."""

from collections.abc import Sequence
from decimal import Decimal

Shares = list[tuple[int, Decimal]]
WHOLE = Decimal(100)


def shares_after_sale(shares: Sequence[tuple[int, Decimal]], seller: int | None, buyer: int) -> Shares:
    """Return the shares after a sale to one buyer, each owner once, in order of entry.

    `seller` sells all that is theirs; None: every owner does, or nobody owned the horse yet. The buyer
    stands where the seller stood, or where the buyer stood before.
    """
    if seller is None:
        return [(buyer, WHOLE)]
    after: dict[int, Decimal] = {}
    for owner, share in shares:
        holder = buyer if owner == seller else owner
        after[holder] = after.get(holder, Decimal(0)) + share
    return list(after.items())
