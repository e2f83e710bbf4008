"""Sentences for claims: what was reported, looked at, decided and put right."""

from collections.abc import Mapping

from shop.record.telling import Body, Names, Sentence, Told, changes

ANSWERS = {"agreed": "agrees", "refused": "refuses", "none": "gave no answer, and we go on without"}
OUTCOMES = {"accept": "accepted", "part": "accepted in part", "refuse": "refused"}
SHARES = {"shop": "we bear", "supplier": "the supplier bears", "customer": "the customer bears"}
SHARES |= {"insurer": "an insurer bears"}


def report_claim(body: Body, names: Names) -> Told:
    edge = f", {names.edge(body['place'], body['edge'])}" if body.get("edge") else ""
    what = f"Claim {body['claim']}: {names.place(body['place'])}{edge}, {body['symptom'].replace('_', ' ')}"
    days = (("noticed on", None, body["noticed_on"]), ("told on", None, body["told_on"]))
    return Told(what, changes=changes(names, *days, ("in the caller’s words", None, body.get("said"))))


def add_claim_photos(body: Body, names: Names) -> Told:
    whose = "taken here" if body.get("taken_here") else "from the customer"
    return Told(f"Claim {body['claim']}: {len(body['photos'])} photos added, {whose}")


def add_glue_side(body: Body, names: Names) -> Told:
    causes = ", ".join(names.of_plan("causes", code) for code in body["causes"])
    guess = f", which points to {causes}" if causes else ""
    what = f"Claim {body['claim']}: the glue side reads {body['reading'].replace('_', ' ')}{guess}"
    return Told(what, note=body.get("note", ""))


def decide(body: Body, names: Names) -> Told:
    rows = [("reason", None, body.get("reason")), ("in the words of the terms", None, body["words"])]
    rows += [
        (words, None, f"{body[f'{who}_pct']} %") for who, words in SHARES.items() if body.get(f"{who}_pct")
    ]
    outcome = OUTCOMES.get(body["outcome"], body["outcome"])
    return Told(
        f"Claim {body['claim']}: {outcome}, decision {body['decision']}", changes=changes(names, *rows)
    )


def link_repair(body: Body, names: Names) -> Told:
    stage = (
        f", filmed again from {names.of_plan('stages', body['from_stage'])} on" if body["from_stage"] else ""
    )
    return Told(f"Claim {body['claim']} is put right by job {body['number']}{stage}")


CLAIMS: Mapping[str, Sentence] = {
    "report_claim": report_claim,
    "add_claim_photos": add_claim_photos,
    "add_glue_side": add_glue_side,
    "wait_for_supplier": lambda body, names: Told(
        f"Claim {body['claim']}: the supplier was asked, so the film stays on", note=body.get("asked", "")
    ),
    "supplier_answered": lambda body, names: Told(
        f"Claim {body['claim']}: the supplier {ANSWERS.get(body['answer'], body['answer'])}",
        note=body.get("note", ""),
    ),
    "decide": decide,
    "send_letter": lambda body, names: Told(
        f"The letter of claim {body['mail'].split()[1]} was written to a mail",
        changes=changes(names, ("to", None, body.get("to"))),
    ),
    "link_repair": link_repair,
}
