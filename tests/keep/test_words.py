"""Every verb the program writes has a sentence, and the sentence is made of what the verb wrote."""

import ast
import json
from pathlib import Path

import pytest

from shop.models import Book, Entry
from shop.record.telling import Change, Names, Told
from shop.record.words import SENTENCES, tell
from shop.work.kinds import Meaning

SHOP = Path(__file__).resolve().parent.parent.parent / "shop"


TREES = {path: ast.parse(path.read_text()) for path in sorted(SHOP.rglob("*.py"))}


def verbs_written() -> dict[str, str]:
    """Every verb given to the book's `write`, wherever in the program, with the file that gives it."""
    found = {}
    for path, tree in TREES.items():
        for call in (node for node in ast.walk(tree) if _is_write(node)):
            given = next(word.value for word in call.keywords if word.arg == "verb")
            found |= dict.fromkeys(_verbs(given, tree), path.name)
    return found


def _is_write(node: ast.AST) -> bool:
    return (
        isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "write"
        and any(word.arg == "verb" for word in node.keywords)
    )


def _verbs(given: ast.expr, tree: ast.Module) -> list[str]:
    if isinstance(given, ast.Constant):
        return [given.value]
    if isinstance(given, ast.IfExp):
        return _verbs(given.body, tree) + _verbs(given.orelse, tree)
    if isinstance(given, ast.JoinedStr):
        head = given.values[0].value
        assert head == "sign_", f"a verb put together from {ast.unparse(given)}: name what it may be here"
        return [f"{head}{meaning}" for meaning in Meaning]
    assert isinstance(given, ast.Name), ast.unparse(given)
    return _handed_down(given.id, tree)


def _handed_down(name: str, tree: ast.Module) -> list[str]:
    """The texts given for this parameter by whoever calls, anywhere, the functions here that have it."""
    holders = {
        node.name: [argument.arg for argument in node.args.args].index(name)
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef) and name in [argument.arg for argument in node.args.args]
    }
    calls = (
        node
        for other in TREES.values()
        for node in ast.walk(other)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in holders
    )
    given = [call.args[holders[call.func.id]] for call in calls if len(call.args) > holders[call.func.id]]
    found = [one.value for one in given if isinstance(one, ast.Constant)]
    assert found, f"nobody says what {name} is"
    return found


def test_every_verb_the_program_writes_has_a_sentence():
    written = verbs_written()
    assert {"take_in", "answer", "sign_released", "issue", "quarantine_lot", "accept_paint"} <= set(written)
    missing = {verb: file for verb, file in written.items() if verb not in SENTENCES}
    assert not missing, f"write a sentence for these in shop/record/words_*.py: {missing}"


def test_no_sentence_is_for_a_verb_nobody_writes():
    assert set(SENTENCES) - set(verbs_written()) == set()


def test_every_entry_of_the_demo_is_told_by_its_own_sentence(opened):
    entries = list(Entry.objects.all())
    for entry in entries:
        told = SENTENCES[entry.verb](json.loads(entry.body), Names())
        assert told == tell(entry.verb, entry.body, Names())
        assert told.what and not told.what.endswith(".")
    assert len({entry.verb for entry in entries}) >= 18
    assert Book.objects.count() >= 3


@pytest.mark.parametrize(
    ("verb", "body", "sentence"),
    [
        ("answer", '{"line":"degrease.wipe","places":[["hood.1",["front","left"]]],"answer":"done"}',
         "Hood: “degrease.wipe” done at front and left."),
        ("answer", '{"line":"a.b","places":[["hood.1",[""]]],"answer":"value","value":{"air_c100":2140}}',
         "Hood: “a.b” read: air c100 2140."),
        ("answer", '{"line":"a.b","places":[],"answer":"na","reason":"not fitted","late":true}',
         "“a.b” not here (not fitted). It came in after the signature and changes nothing."),
        ("strike_mark", '{"mark":1,"why":"Twice."}', "A damage mark was struck: Twice."),
        ("withdraw", '{"certificate":"26-0001","why":"Never paid"}', "Certificate 26-0001 withdrawn: Never paid."),
        ("keep_photo", '{"places":[["hood.1","seal.edge","front"]],"arrived":false}',
         "Photo for Hood, front: “seal.edge”. The picture itself follows."),
        ("something_new", "{}", "Something new."),
        ("withdraw", "[]", "Withdraw."),
        ("withdraw", "no json", "Withdraw."),
    ],
)  # fmt: skip
def test_sentences(verb, body, sentence):
    assert tell(verb, body, Names()).sentence == sentence


def test_what_changed_is_told_from_what_to_what():
    names = Names()
    body = (
        '{"job":1,"taken_off":[],"pieces":[{"place":"hood.1","fitting":1,'
        '"changed":{"people":{"from":[1],"to":[1,2]},"roll":{"from":null,"to":{"id":1,"code":"R-1","lot":"L-7"}}},'
        '"edges":{"front":{"from":{"finish":"flush","return_mm":null,"primer":false},'
        '"to":{"finish":"wrapped","return_mm":8,"primer":true}}}}]}'
    )
    assert tell("set_out", body, names) == Told(
        "Set out: Hood",
        "",
        (
            Change("Hood, people", "person 1", "person 1, person 2"),
            Change("Hood, roll", "", "R-1 of lot L-7"),
            Change("Hood, front", "flush", "wrapped, 8 mm, primer"),
        ),
    )
    names.past = {"name": "Quay Works", "pin_length": 4}
    told = tell(
        "change_settings", '{"name":"Quay Street Film Works","self_release":true,"pin_length":4}', names
    )
    assert told.changes == (
        Change("name", "Quay Works", "Quay Street Film Works"),
        Change("self-release", "", "yes"),
    )
