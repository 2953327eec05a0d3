"""A phone of the tests: what it records, and how it sends that."""

import json
from datetime import UTC, datetime, timedelta
from uuid import uuid4

NOON = datetime(2026, 10, 14, 16, tzinfo=UTC)


def recorded(
    path: str, title: str = "Something", *, uuid: str = "", at: datetime | None = None, **fields
) -> dict:
    """Return an entry as a phone's store holds it; a list is a field with several values."""
    pairs = [
        [name, str(each)]
        for name, value in fields.items()
        for each in (value if isinstance(value, list) else [value])
    ]
    at = at or datetime.now(UTC) - timedelta(minutes=5)
    return {
        "uuid": uuid or uuid4().hex,
        "login": "farrier",
        "at": at.timestamp() * 1000,
        "path": path,
        "title": title,
        "fields": pairs,
    }


def send(browser, *entries: dict, live: str = "", now: datetime | None = None, files: dict | None = None):
    """Send entries as a phone does; return the answer. `files` are contents by `UUID.N`."""
    phone_now = (now or datetime.now(UTC)).timestamp() * 1000
    sent = {"entries": json.dumps({"now": phone_now, "entries": entries}), "live": live}
    return browser.post("/phone/entries/", sent | (files or {}))


def answers_to(browser, *entries: dict, **more) -> list[tuple[str, str]]:
    """Send entries; return the state and the code of each answer."""
    answer = send(browser, *entries, **more)
    assert answer.status_code == 200, answer.content
    return [(each["state"], each["code"]) for each in answer.json()["entries"]]
