"""The type of the shop: Fira Sans for words, IBM Plex Mono for codes, as whole cuts from their wheels.

Pages use the small subsets in `static/fonts`; printed documents embed these files, so that a paper
carries every letter the two families have.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import fontpkg


@dataclass(frozen=True)
class FontFile:
    """One cut: family as CSS names it, weight 400 or 700, and where its file lies on this machine."""

    family: str
    weight: int
    path: Path


CUTS = (("Fira Sans", 400), ("Fira Sans", 700), ("IBM Plex Mono", 400))


def font_files() -> tuple[FontFile, ...]:
    """Every cut the shop prints with. Raises fontpkg.FontpkgError when a wheel is missing."""
    return tuple(FontFile(family, weight, fontpkg.path(family, weight)) for family, weight in CUTS)


def font_faces(address: Callable[[FontFile], str] = lambda font: font.path.as_uri()) -> str:
    """`@font-face` rules for printed documents; `address` turns a cut into the URL the renderer may fetch."""
    return "\n".join(
        f'@font-face {{ font-family: "{font.family}"; font-weight: {font.weight}; font-style: normal; '
        f'src: url("{address(font)}") format("truetype"); }}'
        for font in font_files()
    )
