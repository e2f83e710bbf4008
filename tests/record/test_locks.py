"""Row locks on PostgreSQL: whoever inserts a row that points to a locked one must not wait for it, nor it for them."""

import ast
from pathlib import Path

import pytest

SHOP = Path(__file__).resolve().parent.parent.parent / "shop"


def locks():
    for path in sorted(SHOP.rglob("*.py")):
        text = path.read_text()
        if "select_for_update" not in text:
            continue
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, (ast.Assign, ast.Return, ast.Expr)) and "select_for_update(" in ast.unparse(
                node
            ):
                yield pytest.param(ast.unparse(node), id=f"{path.relative_to(SHOP)}:{node.lineno}")


@pytest.mark.parametrize("statement", list(locks()))
def test_a_lock_leaves_the_key_free_and_locks_no_joined_row(statement):
    """FOR UPDATE of a workshop stops every insert that names it, and two such waits make a deadlock."""
    assert "no_key=True" in statement
    assert "select_related" not in statement or "of=('self',)" in statement
