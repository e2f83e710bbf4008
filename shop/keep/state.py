"""What this shop remembers of its last backup and its last proof, for the owner's page.

Kept beside the data and not in the database: a restored shop must not believe that it was backed up meanwhile.
"""

import json
from datetime import datetime
from typing import Any

from shop import store

BACKUP, PROOF, TRACES = "backup", "proof", "traces"


def file(name: str) -> str:
    return f"last-{name}.json"


def read(of: str) -> dict[str, Any]:
    """What was noted last; empty where nothing was, or where it cannot be read."""
    try:
        told = json.loads(store.noted(file(of)) or b"{}")
    except (OSError, ValueError):
        return {}
    return told if isinstance(told, dict) else {}


def note(of: str, **told: Any) -> None:
    """Change what is given; the rest stays. Moments are written as texts with their offset."""
    fresh = {key: value.isoformat() if isinstance(value, datetime) else value for key, value in told.items()}
    store.note(file(of), json.dumps(read(of) | fresh, ensure_ascii=False).encode())


def moment(told: dict[str, Any], key: str) -> datetime | None:
    try:
        found = datetime.fromisoformat(told[key])
    except (KeyError, TypeError, ValueError):
        return None
    return found if found.tzinfo else None
