"""What browsers call themselves, in plain words. The User-Agent headers are from memory."""

import pytest

from practice.lib.devices import device_in_words, phone_in_words

WEBKIT = "AppleWebKit/537.36 (KHTML, like Gecko)"


@pytest.mark.parametrize(
    ("agent", "words"),
    [
        (f"Mozilla/5.0 (Windows NT 10.0; Win64; x64) {WEBKIT} Chrome/156.0.0.0 Safari/537.36",
         "Chrome on a Windows computer"),
        (f"Mozilla/5.0 (Windows NT 10.0; Win64; x64) {WEBKIT} Chrome/156.0.0.0 Safari/537.36 Edg/156.0.0.0",
         "Edge on a Windows computer"),
        (f"Mozilla/5.0 (Linux; Android 10; K) {WEBKIT} Chrome/156.0.0.0 Mobile Safari/537.36",
         "Chrome on an Android phone"),
        (f"Mozilla/5.0 (Linux; Android 10; K) {WEBKIT} Chrome/156.0.0.0 Safari/537.36",
         "Chrome on an Android tablet"),
        (f"Mozilla/5.0 (Linux; Android 15; SM-S928B) {WEBKIT} SamsungBrowser/28.0 Chrome/130.0.0.0 Mobile"
         " Safari/537.36", "Samsung Internet on an Android phone"),
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 18_6 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko)"
         " Version/18.6 Mobile/15E148 Safari/604.1", "Safari on an iPhone"),
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 18_6 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko)"
         " CriOS/156.0.0.0 Mobile/15E148 Safari/604.1", "Chrome on an iPhone"),
        ("Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 (KHTML, like Gecko)"
         " Version/18.6 Safari/605.1.15", "Safari on a Mac or an iPad"),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:144.0) Gecko/20100101 Firefox/144.0",
         "Firefox on a Linux computer"),
        (f"Mozilla/5.0 (X11; CrOS x86_64 14541.0.0) {WEBKIT} Chrome/156.0.0.0 Safari/537.36",
         "Chrome on a Chromebook"),
        ("curl/8.5.0", "An unknown device"),
        ("", "An unknown device"),
        ("Something (Windows)", "A browser on a Windows computer"),
        ("<b>Firefox/1.0</b>", "An unknown device"),
    ],
)  # fmt: skip
def test_a_device_is_named_by_what_its_browser_says(agent, words):
    assert device_in_words(agent) == words


@pytest.mark.parametrize(
    ("agent", "name"),
    [
        (
            f"Mozilla/5.0 (Linux; Android 10; K) {WEBKIT} Chrome/156.0.0.0 Mobile Safari/537.36",
            "Android phone",
        ),
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 18_6 like Mac OS X) Version/18.6 Safari/604.1", "iPhone"),
        ("curl/8.5.0", "Phone"),
        ("", "Phone"),
    ],
)
def test_a_phone_is_called_by_its_kind_at_first(agent, name):
    assert phone_in_words(agent) == name
