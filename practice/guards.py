"""What a drive said before stays: the database itself refuses anything else."""

from practice.lib.triggers import Guard

GUARDS = [Guard("practice_legchange", "what a drive said before is only added to, never changed")]
