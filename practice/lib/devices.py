"""What a browser says of itself, in plain words: `Chrome on a Windows computer`. Pure.

A browser may say anything, so it is only a help to tell one's own devices apart. Below is what the header
User-Agent holds for each browser and system, from memory, in the order in which it has to be looked for: most
browsers claim to be older ones, too.
"""

LONGEST = 400

BROWSERS = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser/", "Samsung Internet"),
    ("FxiOS/", "Firefox"),
    ("Firefox/", "Firefox"),
    ("CriOS/", "Chrome"),
    ("Chrome/", "Chrome"),
    ("Version/", "Safari"),
)
SYSTEMS = (
    ("iPhone", "an iPhone"),
    ("iPad", "an iPad"),
    ("Android", "an Android device"),
    ("CrOS", "a Chromebook"),
    ("Windows", "a Windows computer"),
    ("Macintosh", "a Mac or an iPad"),  # an iPad says that it is a Mac
    ("Linux", "a Linux computer"),
)


def device_in_words(agent: str) -> str:
    """Return the browser and the device that a User-Agent header names."""
    browser = next((name for mark, name in BROWSERS if mark in agent), "")
    system = next((name for mark, name in SYSTEMS if mark in agent), "")
    if system == "an Android device" and browser:
        system = "an Android phone" if "Mobile" in agent else "an Android tablet"
    if not system:
        return "An unknown device"
    return f"{browser or 'A browser'} on {system}"


def phone_in_words(agent: str) -> str:
    """Return what a phone may be called at first: `Android phone`."""
    _, on, device = device_in_words(agent).rpartition(" on ")
    return device.removeprefix("an ").removeprefix("a ") if on else "Phone"
