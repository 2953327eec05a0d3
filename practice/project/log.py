"""The log in the data folder."""

import sys
from logging.handlers import RotatingFileHandler


class LogFile(RotatingFileHandler):
    """A log that cannot be written says so once, in one line, not in a traceback each time."""

    has_failed = False

    def handleError(self, record):
        if not self.has_failed:
            self.has_failed = True
            sys.stderr.write(f"The log {self.baseFilename} cannot be written: {sys.exc_info()[1]}\n")
