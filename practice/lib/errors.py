"""The one exception by which a rule of the trade or of the book says no."""

from practice.lib.refusals import tell_rule


class RuleBroken(Exception):
    """A rule forbids what was asked, and nothing was changed: `RuleBroken("visit_locked", "This visit …")`.

    `code` tells a program which rule it was, in snake_case, one for each reason. `message` is shown to the
    user: what is wrong, and what to do about it. `str(error)` is the message.
    """

    def __init__(self, code: str, message: str):
        super().__init__(code, message)
        self.code, self.message = code, message
        tell_rule(self)

    def __str__(self):
        return self.message
