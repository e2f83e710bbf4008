"""What the bay page of one stage shows: rows, edges, readings, clocks, photos, and what the signature waits for."""

from collections import defaultdict

from shop.templatetags.words import in_language
from shop.work import conditions, obstacles, progress, states, told
from shop.work.checklist import Line, work_to
from shop.work.floor import Floor, Piece, StageOnFloor
from shop.work.kinds import STAGES_OF, Answer, Card, LineKind, Meaning, Scope, Stage, title
from shop.work.onward import next_to_lay, onward
from shop.work.photo_sides import photo_sides
from shop.work.readings import reading_of

MEASURED = (LineKind.READING, LineKind.LOT, LineKind.CHOICE)


def stage_page(floor: Floor, piece: Piece, stage: str, now) -> dict:
    """Everything the template needs, in plain values; no question to the database is left for it."""
    here = piece.stages[stage]
    facts = states.facts_of(floor)
    meaning = states.meaning_of(stage)
    cards = _cards(floor, piece, here, now)
    return {
        "job": floor.job,
        "piece": piece,
        "place_word": piece.name,
        "stage": {
            "code": stage,
            "title": title(Stage(stage))["en"],
            "why_none": _none_needed(floor, here, stage),
            "round": here.checklist.round if here.checklist else 1,
        },
        "ladder": ladder(floor, piece, facts[piece.place], stage),
        "where": f"{list(Stage).index(Stage(stage)) + 1} of {len(Stage)}",
        "cards": cards,
        "asked_now": _asked_now(cards),
        "clocks": clocks(floor, piece, stage, now),
        "not_here": [
            (entry["code"], in_language(entry["text"], _language(floor)))
            for entry in floor.plan.get("not_here", ())
        ],
        "signing": signing_state(floor, [piece], facts, meaning, stage),
        "onward": _onward(floor, piece, facts, Stage(stage), meaning),
        "next_to_lay": _next_to_lay(floor, piece, facts) if stage == Stage.TACK else None,
        "hidden": hidden_state(floor, piece, facts[piece.place]) if stage == Stage.SEAL else None,
        "places": [other.place for other in floor.pieces],
        "others": [other for other in floor.pieces if other.place != piece.place],
        "defects": [defect for defect in piece.defects if defect.closed_at is None],
        "paint": told.paint_concern(piece),
    }


def _language(floor: Floor) -> str:
    return floor.job.workshop.language


def _none_needed(floor: Floor, here: StageOnFloor, stage: str) -> str:
    if here.lines:
        return ""
    entry = next((s for s in floor.plan["stages"] if s["key"] == stage), {})
    return in_language(entry.get("none", {"en": "Nothing to do here."}), _language(floor))


def ladder(floor: Floor, piece: Piece, facts, now_at: str = "") -> list[dict]:
    rungs = []
    for stage in Stage:
        state = states.stage_state(piece, facts, stage)
        rungs.append(
            {
                "code": str(stage),
                "name": title(stage)["en"],
                "state": state,
                "word": states.WORDS[state],
                "now": stage == now_at,
                "url": f"/bay/{floor.job.pk}/{piece.place}/{stage}/",
            }
        )
    return rungs


def _cards(floor: Floor, piece: Piece, here: StageOnFloor, now) -> list[dict]:
    """The lines in their groups: before the wet hands, the card to work by, after them."""
    groups: dict[str, list[Line]] = defaultdict(list)
    for line in here.lines:
        if line.starts != "cure":
            groups[line.card].append(line)
    cards = []
    for card, name in (
        (Card.NONE, ""),
        (Card.BEFORE, "Before wet hands"),
        (Card.AFTER, "When the film is down"),
    ):
        if card == Card.AFTER or (card == Card.NONE and here.stage == Stage.SEAL):
            cards += _to_work_by(floor, piece, here)
        if groups.get(card):
            cards.append({"name": name, "code": str(card), **_groups(floor, piece, here, groups[card], now)})
    return cards


def _to_work_by(floor: Floor, piece: Piece, here: StageOnFloor) -> list[dict]:
    steps = work_to(floor.plan, piece.spec, here.stage)
    language = _language(floor)
    told_steps = [
        {"text": in_language(step.text, language), "caution": in_language(step.caution, language)}
        for step in steps
    ]
    name = "Wet hands: nobody touches the tablet" if here.stage == Stage.TACK else "In this order"
    # `items` is said even where it is empty: a template would find the dict's own.
    return [{"name": name, "code": "work_to", "steps": told_steps, "items": []}] if told_steps else []


def _groups(floor: Floor, piece: Piece, here: StageOnFloor, lines: list[Line], now) -> dict:
    items = []
    for line in lines:
        if line.scope == Scope.EDGE:
            items.append({"is": "edges", **_edge_group(floor, piece, here, line)})
        elif line.kind in MEASURED:
            items.append({"is": "reading", **reading_of(floor, piece, here, line, now)})
        elif line.kind == LineKind.TIMER:
            items.append({"is": "start", **_row(floor, piece, here, line, "")})
        else:
            items.append({"is": "row", **_row(floor, piece, here, line, "")})
    return {"items": items}


def _edge_group(floor: Floor, piece: Piece, here: StageOnFloor, line: Line) -> dict:
    language = _language(floor)
    rows = [_row(floor, piece, here, line, edge) for edge in line.edges]
    group = {
        "key": line.key,
        "panel": piece.place,
        "text": in_language(line.text, language),
        "why": in_language(line.why, language),
        "caution": in_language(line.caution, language),
        "rows": rows,
        "reading": [reading_of(floor, piece, here, line, None, edge) for edge in line.edges]
        if line.kind in MEASURED
        else None,
        "measured": line.kind == LineKind.READING,
        "open": sum(1 for row in rows if not row["settled"]) if line.required else 0,
        "photo": line.photo,
        "edges": " ".join(line.edges),
    }
    if line.photo:
        group["sides"] = photo_sides(piece, line, {row["edge"] for row in rows if not row["photo"]})
    group["said"] = _group_said(line, rows, group["open"])
    return group


def _group_said(line: Line, rows: list[dict], lacking: int) -> str:
    if not line.required:
        return f"Said at {count}" if (count := sum(row["settled"] for row in rows)) else "Nothing said"
    return f"{lacking} of {len(rows)} open" if lacking else "All answered"


def _row(floor: Floor, piece: Piece, here: StageOnFloor, line: Line, edge: str) -> dict:
    on = here.answers.get((line.key, edge))
    language = _language(floor)
    spec = next((e for e in piece.spec.edges if e.code == edge), None)
    answers = ["done"] + (["na"] if line.na else []) + ([] if line.kind == LineKind.EVENT else ["wrong"])
    proofs = [p for p in here.photos.get((line.key, edge), ()) if not p.set_aside]
    answer = on.outcome.answer if on else ""
    settled = answer in (Answer.DONE, Answer.NA, Answer.VALUE, Answer.START)
    return {
        "key": line.key,
        "panel": piece.place,
        "edge": edge,
        "text": in_language(line.text, language),
        "why": in_language(line.why, language),
        "caution": in_language(line.caution, language),
        "answer": answer,
        "answers": " ".join(answers),
        "said": _said(floor, on),
        "seen": on.outcome_id if on else 0,
        "settled": settled,
        "scope": line.scope,
        "kind": spec.kind if spec else "",
        "name": piece.edge_names.get(edge) or edge.replace("-", " ").capitalize(),
        "finish": (f"{spec.finish} {spec.return_mm} mm" if spec.return_mm else spec.finish) if spec else "",
        "state": {"done": "answered", "na": "none", "wrong": "wrong"}.get(answer, "open"),
        "photo": bool(proofs),
        "wants_photo": line.photo,
        "photos": [p for p in proofs if p.photo_id],
        "promised": any(p.photo_id is None for p in proofs),
        "off": False,
        "optional": not line.required,
        "same_for_all": line.scope in (Scope.PANEL, Scope.PIECE) and len(floor.pieces) > 1,
    }


def _said(floor: Floor, on) -> str:
    if on is None:
        return ""
    at = on.outcome.at.astimezone(told.zone(floor))
    text = f"{on.outcome.person.name}, {at:%H:%M}"
    return f"{text}: {on.outcome.reason}" if on.outcome.reason else text


def _onward(floor: Floor, piece: Piece, facts, stage: Stage, meaning: Meaning) -> dict | None:
    """Where the page goes on to by itself, and in which words."""
    found = onward([facts[each.place] for each in floor.pieces], facts[piece.place], stage, meaning)
    if found is None:
        return None
    if found.meaning:
        panels = "&".join(f"panel={place}" for place in found.places)
        word = "Hidden edges" if found.meaning == Meaning.HIDDEN else "Sign"
        return {"url": f"/bay/{floor.job.pk}/sign/{found.meaning}/?{panels}", "word": word}
    name = "" if found.place == piece.place else f"{facts[found.place].name}: "
    return {
        "url": f"/bay/{floor.job.pk}/{found.place}/{found.stage}/",
        "word": f"Next: {name}{title(Stage(found.stage))['en'].lower()}",
    }


def _next_to_lay(floor: Floor, piece: Piece, facts) -> dict | None:
    found = next_to_lay([facts[each.place] for each in floor.pieces], facts[piece.place])
    return found and {"url": f"/bay/{floor.job.pk}/{found.place}/{Stage.TACK}/", "name": found.name}


def _asked_now(cards: list[dict]) -> dict | None:
    """The first thing still open: it gets the tape."""
    for card in cards:
        for item in card.get("items", ()):
            if item["is"] == "edges" and item["open"]:
                return {"key": item["key"], "edge": next(r["edge"] for r in item["rows"] if not r["settled"])}
            if item["is"] != "edges" and item["optional"]:
                continue
            if item["is"] in ("row", "start") and not item["settled"]:
                return {"key": item["key"], "edge": ""}
            if item["is"] == "reading" and not item["kept"]:
                return {"key": item["key"], "edge": ""}
    return None


def clocks(floor: Floor, piece: Piece, stage: str, now) -> list[dict]:
    """The clocks that matter on this stage, each with its sentence and the moment it changes."""
    found = []
    if stage in (Stage.DEGREASE, Stage.PRIMER, Stage.TACK) and not _flooded(piece):
        timer = conditions.fresh(floor, piece, now)
        if timer.band != "waiting":
            found.append(_clock("Wiped edges", timer))
    if stage in (Stage.PRIMER, Stage.TACK):
        timer = conditions.flash_off(floor, piece, now)
        if timer and not _flooded(piece):
            found.append(_clock("Flash-off of the primer", timer))
    if stage == Stage.CURE:
        timer = conditions.cure(floor, piece, now)
        if timer:
            found.append(_clock("Cure", timer))
    return found


def _flooded(piece: Piece) -> bool:
    return ("tack.flooding", "") in piece.stages[Stage.TACK].answers


def _clock(label: str, timer) -> dict:
    return {
        "label": label,
        "ends": timer.ends_at.isoformat() if timer.ends_at else "",
        "left": timer.sentence,
        "band": timer.band,
        "done": timer.done,
        "sure": timer.sure,
        "gone_s": int(timer.elapsed.total_seconds()),
        "total_s": 0,
    }


def signing_state(floor: Floor, pieces, facts, meaning: Meaning, stage: str) -> dict:
    """What the sign bar says: what is signed here, and how many things it still waits for."""
    language = _language(floor)
    name = next(in_language(s["title"], language) for s in floor.plan["signings"] if s["meaning"] == meaning)
    piece = pieces[0]
    missing = missing_words(facts[piece.place], meaning)
    signed = progress.is_signed(facts[piece.place], meaning)
    return {
        "meaning": str(meaning),
        "name": name,
        "signed": signed,
        "by": piece.signoff(meaning).signing.person.name if signed and piece.signoff(meaning) else "",
        "missing": missing,
        "url": f"/bay/{floor.job.pk}/sign/{meaning}/?panel={piece.place}",
    }


def missing_words(facts, meaning: Meaning) -> list[str]:
    """Each thing the signature waits for, short enough for the sign bar."""
    words = []
    for stage in STAGES_OF[meaning]:
        here = progress.stage_of(facts, stage)
        for line in here.lines:
            places = progress.open_places(here, line)
            photos = progress.photo_places(here, line)
            if places:
                words.append(progress.named_line(facts, line, places))
            elif photos:
                words.append(f"photo: {progress.named_line(facts, line, photos)}")
    if meaning in (Meaning.LAID, Meaning.RELEASED):
        words += ["hidden edges not signed"] if hidden_open(facts) else []
    return words


def hidden_open(facts) -> bool:
    return bool(obstacles.hold(facts))


def hidden_state(floor: Floor, piece: Piece, facts) -> dict | None:
    if not progress.hidden_lines(facts):
        return None
    return {
        "signed": not hidden_open(facts),
        "url": f"/bay/{floor.job.pk}/sign/hidden/?panel={piece.place}",
    }
