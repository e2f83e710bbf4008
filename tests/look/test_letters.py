"""The letters the shop writes in are in the fonts it ships, on pages and on paper."""

import re
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from shop.fonts import font_faces, font_files

ROOT = Path(__file__).resolve().parents[2]
FONTS = ROOT / "static" / "fonts"
LETTERS = {
    "Polish": "ĄĆĘŁŃÓŚŹŻąćęłńóśźż",
    "Czech": "ÁČĎÉĚÍŇÓŘŠŤÚŮÝŽáčďéěíňóřšťúůýž",
    "Turkish": "ÇĞİÖŞÜçğıöşü",
    "Romanian": "ĂÂÎȘȚăâîșț",
    "Baltic": "ĀČĒĢĪĶĻŅŠŪŽĖĮŲāčēģīķļņšūžėįų",
    "Vietnamese": "ĂÂĐÊÔƠƯạấợữỹđ",
    "Greek": "ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩαβγδεζηθικλμνξοπρσςτυφχψωάέήίόύώϊϋΐΰ",
    "Cyrillic": "АБВГДЕЁЖЗИЙКЛМНОПРСТУФХЦЧШЩЪЫЬЭЮЯабвгдеёжзийклмнопрстуфхцчшщъыьэюяҐґЄєІіЇїЎў",
    "signs": "°µ×−–…→←≤≥·’“”€£½",
}


def covered(family: str, weight: int) -> set[int]:
    return {p for path in FONTS.glob(f"{family}-{weight}-*.woff2") for p in TTFont(path).getBestCmap()}


@pytest.mark.parametrize("weight", [400, 700])
@pytest.mark.parametrize("script", LETTERS)
def test_pages_have_the_letters(weight, script):
    missing = {c for c in LETTERS[script] if ord(c) not in covered("fira-sans", weight)}
    assert not missing


@pytest.mark.parametrize("script", LETTERS)
def test_papers_have_the_letters(script):
    for font in font_files():
        if font.family == "Fira Sans":
            missing = {c for c in LETTERS[script] if ord(c) not in TTFont(font.path).getBestCmap()}
            assert not missing, font


def test_codes_have_their_letters_in_a_face_where_each_is_as_wide_as_the_next():
    for path in [*FONTS.glob("bay-mono-400-latin.woff2"), font_files()[2].path]:
        font = TTFont(path)
        widths = {font["hmtx"][font.getBestCmap()[ord(c)]][0] for c in "ABCDEFGHJKLMNPRSTUVWXYZ0123456789-"}
        assert len(widths) == 1


@pytest.mark.parametrize("path", sorted(FONTS.glob("fira-sans-*-latin.woff2")), ids=lambda p: p.name)
def test_figures_can_stand_under_each_other(path):
    assert "tnum" in {record.FeatureTag for record in TTFont(path)["GSUB"].table.FeatureList.FeatureRecord}


def test_the_style_sheet_names_each_file_and_only_ranges_the_file_has():
    rules = re.findall(
        r"url\(\"\.\./fonts/([^\"]+)\"\).*?unicode-range: ([^;]+);",
        (ROOT / "static/css/fonts.css").read_text(),
        re.S,
    )
    assert {name for name, _ in rules} == {path.name for path in FONTS.glob("*.woff2")}
    for name, text in rules:
        has = set(TTFont(FONTS / name).getBestCmap())
        for first, last in re.findall(r"U\+([0-9A-F]+)(?:-([0-9A-F]+))?", text):
            assert set(range(int(first, 16), int(last or first, 16) + 1)) <= has, f"{name}: U+{first}"


def test_fonts_are_light_and_carry_their_licence():
    assert sum(path.stat().st_size for path in FONTS.glob("*.woff2")) < 700_000
    for path in FONTS.glob("*-400-latin.woff2"):
        licence = FONTS / f"{path.name.removesuffix('-400-latin.woff2')}-licence.txt"
        assert "SIL Open Font License" in licence.read_text()


def test_a_cut_down_file_does_not_go_by_the_kept_name():
    for path in FONTS.glob("bay-mono-*.woff2"):
        assert "Plex" not in str(TTFont(path)["name"].getDebugName(1))


def test_papers_are_told_where_every_cut_lies():
    faces = font_faces(lambda font: f"cut:{font.path.name}")
    assert faces.count("@font-face") == 3
    for font in font_files():
        assert f"cut:{font.path.name}" in faces and font.path.is_file()
