"""Whether a body document can be drawn, asked before it is published."""

from collections.abc import Mapping
from typing import Any

from shop.intake.sheet import BodyError, read_body


def faults(body: Mapping[str, Any]) -> list[str]:
    """One sentence for what keeps the sheet from being drawn; none when it can be."""
    try:
        read_body(body)
    except BodyError as wrong:
        return [f"panels: {wrong}"]
    except (TypeError, ValueError, LookupError, AttributeError, ArithmeticError) as wrong:
        return [f"panels: the sheet cannot be drawn from it ({type(wrong).__name__}: {wrong})."]
    return []
