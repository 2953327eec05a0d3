"""When a message that was not accepted is tried again."""

from datetime import timedelta

# Short at first, as a busy server is often free again in a minute, then longer (RFC 5321, 4.5.4.1).
PAUSES = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 15, 30, 60, 120, 240))
# "the give-up time generally needs to be at least 4-5 days" (RFC 5321, 4.5.4.1).
GIVE_UP_AFTER = timedelta(days=5)


def pause_after(tries: int) -> timedelta:
    """Return how long to wait after so many tries (at least 1); it grows, up to four hours."""
    return PAUSES[min(tries, len(PAUSES)) - 1]
