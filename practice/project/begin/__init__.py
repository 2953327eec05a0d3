"""From the demo practice to a book of one's own: the demo replaced, then five steps on one page."""
