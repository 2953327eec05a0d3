"""Papers that are made at once, for tests in which it does not matter how a paper looks."""

import json
from dataclasses import asdict
from uuid import UUID


def plain_paper(template: str, context: dict, identifier: UUID) -> bytes:
    """Return what a paper says as text, with the head, the identifier and the end of a PDF."""
    says = json.dumps([template, asdict(context["paper"])])
    return f"%PDF-1.7\n{says}\ntrailer << /ID [({identifier.hex}) (0)] >>\n%%EOF\n".encode()
