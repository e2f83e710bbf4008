"""Thirty tablets at once; on one server with SQLite, and on two that share PostgreSQL and a bucket.

BAYPROOF_SOAK=short is what runs before anything lands. Every figure is printed by the run that measured it.
"""

import os
import subprocess
import sys

import pytest

from tests.keep.bay import ROOT

pytestmark = pytest.mark.soak
SECONDS = 10 if os.environ.get("BAYPROOF_SOAK") == "short" else 120


def driven(capsys, *words, before=()):
    kept = {name: value for name, value in os.environ.items() if not name.startswith("SHOP_")}
    done = subprocess.run(
        [*before, sys.executable, "-m", "tests.load", "--seconds", str(SECONDS), *words],
        cwd=ROOT, env=kept, capture_output=True, text=True, timeout=900, check=False,
    )  # fmt: skip
    with capsys.disabled():
        sys.stdout.write(f"\n{done.stdout}")
    assert done.returncode == 0, done.stdout + done.stderr[-2000:]


def test_thirty_tablets_at_once_lose_nothing(capsys):
    driven(capsys)


def test_two_servers_on_one_database_and_one_bucket_share_thirty_tablets(capsys):
    """Each request of a tablet goes to the other server than the one before."""
    postgres = ("bash", str(ROOT / "tools" / "postgres.sh"))
    driven(capsys, "--servers", "2", "--bucket", before=postgres)
