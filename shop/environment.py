"""What the environment says, refused in a sentence when it is nonsense."""

import os
import secrets
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured


def env_bool(name: str, default: str) -> bool:
    value = os.environ.get(name, default)
    if value not in ("yes", "no"):
        raise ImproperlyConfigured(f"{name} must be yes or no, not {value!r}.")
    return value == "yes"


def key_file(path: Path) -> str:
    """The secret kept in this file; made on first use, readable by its owner alone.

    O_EXCL decides which of two starting processes makes it; the other reads the winner's.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text().strip()
    with os.fdopen(handle, "w") as out:
        secret = secrets.token_urlsafe(48)
        out.write(secret + "\n")
        out.flush()
        os.fsync(out.fileno())
    return secret
