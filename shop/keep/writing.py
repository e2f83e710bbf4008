"""Files that are there whole or not at all, also after a power cut."""

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

UNFINISHED = ".new-"


def write_whole(path: Path, data: bytes, *, mode: int = 0o600) -> None:
    """Put these bytes at this path, durable when it returns; whoever reads meanwhile sees the old or the new."""
    make_folder(path.parent)
    handle, name = tempfile.mkstemp(prefix=UNFINISHED, dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fchmod(out.fileno(), mode)
            os.fsync(out.fileno())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def sync_file(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())


def sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def make_folder(folder: Path) -> None:
    """A new folder is only there after a power cut when its parent was flushed as well."""
    if folder.is_dir():
        return
    make_folder(folder.parent)
    folder.mkdir(exist_ok=True)
    sync_folder(folder.parent)


def half_written(folder: Path) -> Iterator[Path]:
    """What a killed process left half-written in this folder and those below."""
    return folder.rglob(f"{UNFINISHED}*")
