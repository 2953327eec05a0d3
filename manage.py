#!/usr/bin/env python3
"""Roundbook's commands: `python3 manage.py start` opens the book, `python3 manage.py test` runs the tests."""

import os
import sys

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "practice.project.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)
