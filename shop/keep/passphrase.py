"""Where the passphrase of a backup comes from: a file, or the environment. Never an argument, which others can read."""

import os
from pathlib import Path

VARIABLE = "SHOP_BACKUP_PASSPHRASE"


def read(file: Path | None) -> str:
    """The passphrase, or an empty text where none was given. OSError where the file cannot be read."""
    if file:
        return file.read_text(encoding="utf-8").rstrip("\r\n")
    return os.environ.get(VARIABLE, "")
