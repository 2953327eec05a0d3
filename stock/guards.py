"""The ledger is only added to: the database itself refuses anything else."""

from practice.lib.triggers import Guard

GUARDS = [Guard("stock_movement", "facts of stock are only added; take one back by a new one")]
