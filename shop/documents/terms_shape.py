"""What terms may hold. Whether a place's law is satisfied is asked when a paper is issued, not here."""

from collections.abc import Mapping
from typing import Any

from shop.documents.shape import (
    Faults,
    Shape,
    flag,
    list_of,
    matching,
    one_of,
    table,
    table_of,
    text,
    twice,
    whole,
    words,
)

COUNTING = ("event_day_excluded", "first_day_counted")
COVERS = ("material", "workmanship", "touch_up")

_KEY = matching(r"[a-z][a-z0-9_]*", "key such as “pressure_washer”")


def _section(extra: Mapping[str, Shape] | None = None) -> Shape:
    return table({"text": words()}, {"title": words(), "source": text, **(extra or {})})


_COVER = table(
    {"title": words(), "text": words(), "source": text},
    {"months": whole(least=1), "flat_months": whole(least=1), "days": whole(least=1)},
)
_CARE_ROW = table(
    {"key": _KEY, "text": words()},
    {
        **{
            name: whole(least=0)
            for name in ("from_days", "cold_days", "until_days", "from_months", "until_months")
        },
        "recheck": flag,
        "source": text,
    },
)
_CLAIM = table(
    {"steps": list_of(table({"key": _KEY, "text": words()}), least=1)},
    {
        "answer_within_days": whole(least=1),
        "tell_within_days": whole(least=1),
        "source": text,
        "symptoms": list_of(
            table({"key": _KEY, "title": words(), "covers": list_of(one_of(COVERS))}, {"source": text})
        ),
        "shots": list_of(
            table({"key": _KEY, "title": words(), "text": words()}, {"glue": flag, "source": text})
        ),
        "glue_side": list_of(
            table(
                {"key": _KEY, "title": words(), "text": words(), "causes": list_of(_KEY, least=1)},
                {"source": text},
            )
        ),
    },
)


def _place_part(value: Any, path: str) -> Faults:
    """A place holds switches, choices and sections of its own; the law decides which."""
    if isinstance(value, Mapping):
        return _section()(value, path)
    return flag(value, path) if isinstance(value, bool) else text(value, path)


REQUIRED: Mapping[str, Shape] = {
    "counting": one_of(COUNTING),
    "cover": table_of(one_of(COVERS), _COVER),
}
OPTIONAL: Mapping[str, Shape] = {
    "designation": one_of(["limited", "full"]),
    "pro_rata": flag,
    "heading": _section(),
    "covered": list_of(table({"key": _KEY, "text": words()}, {"cover": one_of(COVERS), "source": text})),
    "excluded": list_of(table({"key": _KEY, "text": words()}, {"source": text})),
    "remedy": _section({"free": flag, "refund": flag, "pays": _section()}),
    "claim": _CLAIM,
    "removal": list_of(table({"key": _KEY, "title": words()}, {"source": text})),
    "entitled": _section(),
    "starts": _section({"event": one_of(["hand_over", "completion"])}),
    "ends": _section(),
    "again": _section({"rule": one_of(["remaining", "afresh"])}),
    "territory": _section(),
    "transfer": _section({"rule": one_of(["never", "once", "always"]), "notice_days": whole(least=0)}),
    "recheck": _section(
        {
            "effect": one_of(["presumption", "none"]),
            "grace_days": whole(least=0),
            "remind_days": whole(least=0),
        }
    ),
    "statutory": _section(),
    "place": table_of(matching(r"[a-z]{2}(-[a-z]{1,3})?", "place such as “us”"), table_of(_KEY, _place_part)),
    "care": table({"rows": list_of(_CARE_ROW, least=1)}, {"cold_below_c100": whole(), "source": text}),
}


def agreement(terms: Mapping[str, Any]) -> Faults:
    """A cover that promises something has a length, and only one kind of it."""
    faults = [
        f"cover.{name}: says how long in months or in days, one of them."
        for name, cover in terms["cover"].items()
        if ("months" in cover) == ("days" in cover)
    ]
    for name in ("material", "workmanship"):
        if name not in terms["cover"]:
            faults.append(f"cover.{name}: is missing.")
    for name in ("covered", "excluded", "removal"):
        faults += twice(terms.get(name, ()), "key", name)
    for name in ("symptoms", "shots", "glue_side"):
        faults += twice(terms.get("claim", {}).get(name, ()), "key", f"claim.{name}")
    faults += twice(terms.get("care", {}).get("rows", ()), "key", "care.rows")
    return faults + [
        f"care.rows[{n}].{last}: lies before {first}."
        for n, row in enumerate(terms.get("care", {}).get("rows", ()))
        for first, last in (("from_days", "until_days"), ("from_months", "until_months"))
        if first in row and last in row and row[last] < row[first]
    ]
