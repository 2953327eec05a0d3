"""What every command does first: finish or undo what a killed one began, and delete what it left behind."""

import shutil
from datetime import datetime, timedelta

from django.conf import settings

from practice.lib.kept_files import clear_drafts
from practice.project.backup.restoring import finish_restore
from practice.project.bring_in.uploads import clear_old_uploads

# How versions before these notes named what they were writing. No lock says whether one still does.
OLD_DRAFTS = ("tmp????????", "backups/.before-restore-*", ".logo.*", "invoices/*/.*.pdf.*", "receipts/.*")
LEFT_ALONE = timedelta(hours=1)


def tidy_up() -> None:
    """Finish or undo a restore that was killed, and delete old uploads and drafts of processes no more."""
    finish_restore()
    clear_drafts()
    _clear_old_drafts()
    clear_old_uploads()


def _clear_old_drafts() -> None:
    since = (datetime.now() - LEFT_ALONE).timestamp()
    for pattern in OLD_DRAFTS:
        for path in settings.DATA_DIR.glob(pattern):
            if path.lstat().st_mtime < since:
                if path.is_dir() and not path.is_symlink():
                    shutil.rmtree(path, ignore_errors=True)
                else:
                    path.unlink(missing_ok=True)
