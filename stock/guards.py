"""The ledger is only added to: the database itself refuses anything else."""

from practice.lib.triggers import Follows, Guard

GUARDS = [
    Guard(
        "stock_movement",
        "facts of stock are only added; take one back by a new one",
        follows=(Follows("item_id", "item"), Follows("job", "horse", at_the_end=True)),
    )
]
