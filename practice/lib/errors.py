"""The one exception by which a rule of the trade or of the book says no."""


class RuleBroken(Exception):
    """A rule forbids what was asked; nothing was changed, and the message is shown to the user."""
