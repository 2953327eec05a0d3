"""How a command ends: its exit codes, and the error of a machine that lacks what it needs.

Standard library only, as it is there before anything is installed.
"""

DONE = 0
UNEXPECTED = 1  # details in the log
REFUSED = 2  # bad input or a broken rule; nothing was changed
LACKING = 3  # the machine lacks something
INTERRUPTED = 130


class EnvironmentProblem(Exception):
    """The machine lacks what a command needs; the message says what, and what to do."""
