"""`python -m tests.load [--seconds 120] [--tablets 30] [--servers 1] [--bucket]`: a shop under load, in figures.

SHOP_DATABASE says which database; without it an SQLite file of its own. Ends with 1 where anything was lost.
"""

import argparse
import os
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path

from tests.bucket_here import bucket_here
from tests.load.drive import load


def main() -> int:
    words = argparse.ArgumentParser(prog="python -m tests.load")
    words.add_argument("--seconds", type=float, default=120)
    words.add_argument("--tablets", type=int, default=30)
    words.add_argument("--servers", type=int, default=1, help="more than one needs PostgreSQL and --bucket")
    words.add_argument("--bucket", action="store_true", help="photos in a bucket instead of a folder")
    said = words.parse_args()
    database = os.environ.get("SHOP_DATABASE", "")
    if said.servers > 1 and not (database and said.bucket):
        words.error(
            "several servers share a PostgreSQL database and a bucket: set SHOP_DATABASE, say --bucket"
        )
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="bayproof-load-")))
        more = {"SHOP_DATABASE": database} if database else {}
        if said.bucket:
            more |= stack.enter_context(bucket_here()).environment()
        told = load(folder, seconds=said.seconds, tablets=said.tablets, servers=said.servers, more=more)
    sys.stdout.write(f"{told}\n")
    return 1 if told.errors or told.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
