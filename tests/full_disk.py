"""A full disk, as a program sees it: the system's own limit on the size of files stands in for it."""

import resource
from contextlib import contextmanager


@contextmanager
def no_file_larger_than(size: int):
    """Let this process write no file beyond `size` bytes; a write that would fails with EFBIG."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
