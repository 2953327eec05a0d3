"""How static files are stored: compressed, under a name with its hash, our scripts without their comments."""

import re

from django.core.files.base import ContentFile, File
from whitenoise.storage import CompressedManifestStaticFilesStorage

# A line that is a comment, a block of such lines, and the blanks that begin a line.
NOT_SENT = re.compile(r"^[ \t]*(//[^\n]*|/\*\*.*?\*/[ \t]*)?\n?", re.MULTILINE | re.DOTALL)
# Text, a pattern (none begins with a blank) or a comment, which stay as they are; or a sign and the blanks
# around it. Plus and minus keep theirs.
KEPT = r"""
    "(?:\\.|[^"\\\n])*" | '(?:\\.|[^'\\\n])*' | `(?:\\.|[^`\\])*` | //[^\n]* | /\*.*?\*/
    | /(?![\ /*=])(?:\\.|\[(?:\\.|[^\]\\])*\]|[^/\\\n\[])+/
"""
SIGN = re.compile(rf"({KEPT})|[ ]*([=<>!&|?:,;{{}}()\[\]*%]+)[ ]*", re.VERBOSE | re.DOTALL)


class StaticFiles(CompressedManifestStaticFilesStorage):
    """Also follows the imports between our own JavaScript modules."""

    support_js_module_import_aggregation = True

    def _save(self, name: str, content: File) -> str:
        if name.startswith("js/") and name.endswith(".js"):
            content.seek(0)  # its hash was worked out before
            content = ContentFile(as_sent(content.read().decode()).encode())
        return super()._save(name, content)


def as_sent(script: str) -> str:
    """Return a script of ours as a browser gets it, without lines that are comments and needless blanks."""
    return SIGN.sub(lambda found: found[1] or found[2], NOT_SENT.sub("", script))
