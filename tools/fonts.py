"""Make `static/fonts` again: WOFF2 subsets by script, and the style sheet that names their ranges.

Run as `python tools/fonts.py` after the font wheels changed; the files are kept in git, so that
neither start-up nor tests wait for it.
"""

import shutil
import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from shop.fonts import FontFile, font_files  # noqa: E402

FONTS = ROOT / "static" / "fonts"
STYLE = ROOT / "static" / "css" / "fonts.css"

# A range never overlaps another one: a browser then fetches a script only when a page has a letter of it.
SCRIPTS = {
    "latin": "U+0020-007E, U+00A0-00FF, U+0131, U+0152-0153, U+02BB-02BC, U+02C6, U+02DA, U+02DC, "
    "U+2000-200B, U+2010-2015, U+2018-201E, U+2020-2022, U+2026, U+202F, U+2030, U+2032-2033, U+2039-203A, "
    "U+2044, U+2070-208E, U+20AC, U+2116, U+2122, U+2126, U+215B-215E, U+2190-2193, U+2206, U+2212, U+2215, "
    "U+221E, U+2248, U+2260, U+2264-2265, U+FEFF, U+FFFD",
    "latin-ext": "U+0100-0130, U+0132-0151, U+0154-02BA, U+02BD-02C5, U+02C7-02D9, U+02DB, U+02DD-036F, "
    "U+1D00-1DBF, U+1E00-1EFF, U+20A0-20AB, U+20AD-20C0, U+2113, U+2C60-2C7F, U+A720-A7FF",
    "greek": "U+0370-03FF, U+1F00-1FFF",
    "cyrillic": "U+0400-052F, U+1C80-1C88, U+20B4, U+2DE0-2DFF, U+A640-A69F",
}
# The licence keeps the name "Plex" for whole files; a cut-down one has to go by another.
RENAMED = {"IBM Plex Mono": "Bay Mono"}
FEATURES = ["kern", "liga", "calt", "ccmp", "locl", "mark", "mkmk", "case", "tnum", "lnum", "pnum", "zero"]


def ranges(text: str) -> set[int]:
    """The code points of a CSS `unicode-range`."""
    points: set[int] = set()
    for part in text.replace("U+", "").split(","):
        first, _, last = part.strip().partition("-")
        points.update(range(int(first, 16), int(last or first, 16) + 1))
    return points


def named(points: set[int]) -> str:
    """A CSS `unicode-range`, runs joined, that names exactly these code points."""
    runs: list[list[int]] = []
    for point in sorted(points):
        if runs and point == runs[-1][1] + 1:
            runs[-1][1] = point
        else:
            runs.append([point, point])
    return ", ".join(f"U+{a:04X}" if a == b else f"U+{a:04X}-{b:04X}" for a, b in runs)


def cut(font: FontFile, points: set[int], target: Path) -> None:
    """Write the part of `font` that holds `points` to `target`, hints dropped, figures kept."""
    options = subset.Options()
    options.flavor = "woff2"
    options.layout_features = FEATURES
    options.hinting = False
    options.drop_tables += ["meta"]
    options.name_IDs = [0, 1, 2, 4, 5, 13, 14]  # copyright, names, version, licence
    loaded = subset.load_font(str(font.path), options)
    loaded.recalcTimestamp = False
    maker = subset.Subsetter(options)
    maker.populate(unicodes=points)
    maker.subset(loaded)
    for record in loaded["name"].names:
        if record.nameID in (1, 4):
            record.string = shown(font)
    subset.save_font(loaded, str(target), options)


def shown(font: FontFile) -> str:
    """The name a cut-down file goes by."""
    return RENAMED.get(font.family, font.family)


def rule(font: FontFile, name: str, points: set[int]) -> str:
    return (
        f'@font-face {{\n  font-family: "{shown(font)}";\n  font-weight: {font.weight};\n'
        f'  font-style: normal;\n  font-display: swap;\n  src: url("../fonts/{name}") format("woff2");\n'
        f"  unicode-range: {named(points)};\n}}\n"
    )


def main() -> None:
    FONTS.mkdir(parents=True, exist_ok=True)
    for old in FONTS.glob("*.woff2"):
        old.unlink()
    rules = ["/* Made by tools/fonts.py; change it there. */\n"]
    for font in font_files():
        slug = shown(font).lower().replace(" ", "-")
        shutil.copyfile(font.path.parent.parent / "LICENSE", FONTS / f"{slug}-licence.txt")
        has = set(TTFont(font.path).getBestCmap())
        for script, text in SCRIPTS.items():
            points = ranges(text) & has
            # A script with a letter or two is not worth a file: the next family in line shows it.
            if len(points) < 16:
                continue
            name = f"{slug}-{font.weight}-{script}.woff2"
            cut(font, points, FONTS / name)
            rules.append(rule(font, name, points))
    STYLE.write_text("\n".join(rules), encoding="utf-8")


if __name__ == "__main__":
    main()
