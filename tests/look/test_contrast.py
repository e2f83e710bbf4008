"""Every pair of tokens that is laid on one another, measured; in each theme and at high contrast."""

import re
from pathlib import Path

import pytest

CSS = Path(__file__).resolve().parents[2] / "static" / "css"
BLOCK = re.compile(r"([^{}]+)\{([^{}]*)\}")
COLOUR = re.compile(r"(--[a-z0-9-]+):\s*(#[0-9A-Fa-f]{6});")

# text token, ground token, least contrast. 7 is asked of what is read one metre away, 3 of lines (WCAG 1.4.11).
TEXT = [
    ("ink", "sheet", 7.0),
    ("ink", "paper", 7.0),
    ("sheet", "ink", 7.0),
    ("ink-2", "sheet", 7.0),
    ("ink-2", "paper", 7.0),
    ("tape-ink", "tape", 7.0),
    ("on-solid", "solid", 7.0),
]
LINES = [("line", "sheet", 3.0), ("line", "paper", 3.0), ("solid", "sheet", 3.0)]


def luminance(colour: str) -> float:
    """Relative luminance by WCAG 2.2, "relative luminance"."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio by WCAG 2.2, "contrast ratio"."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def tokens(*wanted: str) -> dict[str, str]:
    """Colours in force when the rules headed by these selectors apply, in the order they stand."""
    text = re.sub(r"/\*.*?\*/", "", (CSS / "tokens.css").read_text(), flags=re.S)
    rules = []
    for media, body in re.findall(r"@media ([^{]+)\{((?:[^{}]*\{[^{}]*\})*)\s*\}", text):
        rules += [
            (f"@media {media.strip()} | {head.strip()}", content) for head, content in BLOCK.findall(body)
        ]
    plain = re.sub(r"@media [^{]+\{(?:[^{}]*\{[^{}]*\})*\s*\}", "", text)
    rules += [(head.strip(), content) for head, content in BLOCK.findall(plain)]
    found: dict[str, str] = {}
    for name in wanted:
        matching = [content for head, content in rules if head == name]
        assert matching, f"tokens.css has no rule {name!r}"
        found.update({key[2:]: value for content in matching for key, value in COLOUR.findall(content)})
    return found


MORE = "@media (prefers-contrast: more)"
THEMES = {
    "light": (":root",),
    "night": (":root", '[data-theme="night"]'),
    "night by the device": (":root", '@media (prefers-color-scheme: dark) | :root:not([data-theme="light"])'),
    "light, more contrast": (":root", f"{MORE} | :root"),
    "night, more contrast": (":root", '[data-theme="night"]', f'{MORE} | [data-theme="night"]'),
    "night by the device, more contrast": (
        ":root",
        '@media (prefers-color-scheme: dark) | :root:not([data-theme="light"])',
        f'{MORE} and (prefers-color-scheme: dark) | :root:not([data-theme="light"])',
    ),
    "print": (
        ":root",
        '@media print | :root,\n  :root[data-theme="night"],\n  :root:not([data-theme="light"])',
    ),
}


def test_the_formula_agrees_with_the_published_ends_of_the_scale():
    # WCAG 2.2, definition of contrast ratio: 1:1 to 21:1.
    assert contrast("#FFFFFF", "#000000") == pytest.approx(21.0)
    assert contrast("#777777", "#777777") == pytest.approx(1.0)
    # W3C technique G18's neighbour pair: #767676 is the lightest grey that passes 4.5:1 on white.
    assert contrast("#767676", "#FFFFFF") >= 4.5 > contrast("#777777", "#FFFFFF")


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize(("front", "ground", "least"), TEXT + LINES)
def test_each_pair_has_its_contrast(theme, front, ground, least):
    found = tokens(*THEMES[theme])
    # The figures of look are given to one decimal; a pair at the limit is rounded the same way.
    ratio = round(contrast(found[front], found[ground]), 1)
    assert ratio >= least, f"{theme}: {front} {found[front]} on {ground} {found[ground]} is {ratio}:1"


def test_night_is_the_same_whether_chosen_or_by_the_device():
    assert tokens(*THEMES["night"]) == tokens(*THEMES["night by the device"])
    assert tokens(*THEMES["night, more contrast"]) == tokens(*THEMES["night by the device, more contrast"])


@pytest.mark.parametrize("theme", THEMES)
def test_tape_is_told_from_the_ground_by_itself_or_by_its_casing(theme):
    found = tokens(*THEMES[theme])
    stands_out = contrast(found["tape"], found["sheet"]) >= 3 or contrast(found["tape"], found["ink"]) >= 3
    assert stands_out and contrast(found["ink"], found["sheet"]) >= 3


def test_tape_is_one_colour_in_both_themes_and_grey_on_paper():
    assert tokens(*THEMES["light"])["tape"] == tokens(*THEMES["night"])["tape"]
    printed = tokens(*THEMES["print"])
    red, green, blue = (int(printed["tape"][i : i + 2], 16) for i in (1, 3, 5))
    assert max(red, green, blue) - min(red, green, blue) < 12
    assert printed["paper"] == printed["sheet"]


NAMED = re.compile(
    r"#[0-9A-Fa-f]{3,8}\b|%23[0-9A-Fa-f]{6}\b|\brgba?\(|\bhsla?\(|:\s*(?:red|green|blue|black|white|gr[ae]y)\b"
)


@pytest.mark.parametrize("sheet", sorted(CSS.glob("*.css")), ids=lambda path: path.name)
def test_no_other_sheet_has_colours_of_its_own(sheet):
    """Papers are given no theme by their renderer, so they spell the printed colours out; no others."""
    if sheet.name == "tokens.css":
        return
    allowed = set(tokens(*THEMES["print"]).values()) if "paper" in sheet.name else set()
    named = NAMED.findall(re.sub(r"/\*.*?\*/", "", sheet.read_text(), flags=re.S))
    assert {hit.replace("%23", "#").upper() for hit in named} <= allowed
