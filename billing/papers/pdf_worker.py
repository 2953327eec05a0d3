"""What a process of its own does before it makes PDFs. It is imported before Django is set up there."""


def begin() -> None:
    """Set Django up in a new process."""
    import django

    django.setup()
