"""The forms of a page as a browser would send them."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import urljoin


@dataclass
class PageForm:
    """A form that is sent by POST: where to, its fields as the page opened, and its buttons (name, value)."""

    action: str
    fields: dict[str, list[str]] = field(default_factory=dict)
    buttons: list[tuple[str, str]] = field(default_factory=list)
    choices: dict[str, list[str]] = field(default_factory=dict)

    def add(self, name: str, value: str) -> None:
        self.fields.setdefault(name, []).append(value)


class _Reader(HTMLParser):
    def __init__(self, address: str):
        super().__init__()
        self.address, self.found, self.form, self.select, self.area = address, [], None, None, None

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        if tag == "form" and attrs.get("method", "").lower() == "post":
            self.form = PageForm(urljoin(self.address, attrs.get("action") or self.address))
            self.found.append(self.form)
        elif self.form is not None and "disabled" not in attrs:
            getattr(self, f"_{tag}", lambda attrs: None)(attrs)

    def handle_endtag(self, tag):
        if tag == "form":
            self.form = None
        elif tag == "select" and self.select:
            name, options = self.select
            if options:
                self.form.choices[name] = [value for value, _ in options]
                chosen = [value for value, is_chosen in options if is_chosen] or [options[0][0]]
                self.form.add(name, chosen[-1])
            self.select = None
        elif tag == "textarea" and self.area:
            name, text = self.area
            self.form.add(name, text.removeprefix("\n"))
            self.area = None

    def handle_data(self, data):
        if self.area:
            self.area[1] += data

    def _input(self, attrs):
        name, kind = attrs.get("name"), attrs.get("type", "text")
        if not name or kind == "file":
            return
        if kind == "radio":
            self.form.choices.setdefault(name, []).append(attrs.get("value", "on"))
        if kind not in ("checkbox", "radio") or "checked" in attrs:
            self.form.add(name, attrs.get("value") or ("on" if kind == "checkbox" else ""))

    def _button(self, attrs):
        if attrs.get("type", "submit") == "submit" and "hx-post" not in attrs:
            self.form.buttons.append((attrs.get("name", ""), attrs.get("value", "")))

    def _select(self, attrs):
        self.select = (attrs.get("name"), [])

    def _option(self, attrs):
        if self.select:
            self.select[1].append((attrs.get("value", ""), "selected" in attrs))

    def _textarea(self, attrs):
        self.area = [attrs.get("name"), ""]


def forms_of(html: str, address: str) -> list[PageForm]:
    """Return the forms of a page that are sent by POST."""
    reader = _Reader(address)
    reader.feed(html)
    return reader.found
