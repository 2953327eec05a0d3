"""What the tests of bringing in share."""

import pytest

from tests.factories.practice import DAY, ProfileFactory


@pytest.fixture
def practice(db, settings, tmp_path):
    """A practice of its own, whose uploads lie in a folder of their own."""
    settings.TODAY, settings.DATA_DIR = DAY, tmp_path
    return ProfileFactory()
