"""Prints the files of the pure rules, for the strict type check. The list is the one the tests hold pure."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.test_pure import PURE

sys.stdout.write(" ".join(module.replace(".", "/") + ".py" for module in PURE) + "\n")
