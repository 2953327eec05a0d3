"""What the tests of phones share: a book that serves them."""

import pytest

from practice.project.serving.addresses import MeetingPoint, note_served


@pytest.fixture
def served(settings):
    """Serve phones as `start --phones` says of itself."""
    settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, "roundbook.local"]
    note_served(MeetingPoint("roundbook", 8443))
    yield
    note_served(None)
