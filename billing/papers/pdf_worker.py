"""How a worker process that makes PDFs starts. It is imported before Django is set up there."""


def begin() -> None:
    """Set Django up in a new process."""
    import django

    django.setup()
