"""Twenty at once: counted before they are answered, so that no gap between look and write lets a guess through."""

import json
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent


def test_twenty_at_once(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "tests.people.race"],
        cwd=ROOT,
        env=_environment(tmp_path),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    told = json.loads(done.stdout)
    assert Counter(told["starts"]) == {"taken": 1, "already_set_up": 19}
    assert Counter(told["pins"]) == {"pin_wrong": 5, "pin_locked": 15} and told["misses"] == 5
    assert Counter(told["words"]) == {"password_wrong": 5, "password_locked": 15} and told["tries"] == 20


def _environment(folder: Path) -> dict[str, str]:
    """A shop of its own on a database file, with the program's own settings."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("SHOP_")}
    return {**kept, "SHOP_DATA": str(folder), "PYTHONWARNINGS": "ignore"}
