"""How static files are stored: compressed, under a name with its hash, our scripts without their comments."""

import re

from django.core.files.base import ContentFile, File
from whitenoise.storage import CompressedManifestStaticFilesStorage

# Of a script: text and patterns (none begins with a blank), which stay; comments; the semicolon before the
# end of a block; and signs with the blanks and ends of lines around them. Every statement ends with a
# semicolon, and no text in backticks holds another one. Plus and minus keep their blanks.
TOKEN = re.compile(
    r"""
    ( "(?:\\.|[^"\\\n])*" | '(?:\\.|[^'\\\n])*' | `(?:\\.|[^`\\])*`
    | /(?![\ /*=])(?:\\.|\[(?:\\.|[^\]\\])*\]|[^/\\\n\[])+/ )
    | \s*//[^\n]*\s* | /\*.*?\*/\s*
    | ;(?:\s*//[^\n]*)*\s*(?=\}) | \s*([=<>!&|?:,;{}()\[\]*])\s* | \n\s*(?=\n) | (?<=\n)[ ]+
    """,
    re.VERBOSE | re.DOTALL,
)


class StaticFiles(CompressedManifestStaticFilesStorage):
    """Also follows the imports between our own JavaScript modules."""

    support_js_module_import_aggregation = True

    def _save(self, name: str, content: File) -> str:
        if name.startswith("js/") and name.endswith(".js"):
            content.seek(0)  # its hash was worked out before
            content = ContentFile(as_sent(content.read().decode()).encode())
        return super()._save(name, content)


def as_sent(script: str) -> str:
    """Return a script of ours as a browser gets it, without comments and needless blanks."""
    return TOKEN.sub(lambda found: found[1] or found[2] or "", script).strip()
