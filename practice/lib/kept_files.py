"""Files in the data folder: written whole or not at all, open to their owner alone."""

import os
from pathlib import Path


def keep_file(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; an existing one is left alone."""
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    draft = path.with_name(f".{path.name}.{os.getpid()}")
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        file.write(content)
    try:
        os.link(draft, path)
    except FileExistsError:
        pass
    except OSError:  # a file system without hard links
        draft.replace(path)
    draft.unlink(missing_ok=True)
