#!/usr/bin/env python3
"""Roundbook's commands: `python3 manage.py start` opens the book, `python3 manage.py test` runs the tests."""

import sys

from practice.project.bootstrap import main

if __name__ == "__main__":
    raise SystemExit(main(sys.argv))
