"""Case by language, against ICU as Node.js carries it (Debian package nodejs), where it is installed."""

from __future__ import annotations

import json
import shutil
import subprocess
import unicodedata

import pytest

from render.text.casing import lower, title, upper

NAMES = [
    *("iris ışık İnci IŞIL", "İNCI", "Ìrena Ĩsè JĖ Į\u0301 j\u0307\u0303onas i\u0307\u0301na"),
    *("Άννα Μαΐου άιντα Άυλος ή Ήρα ᾠδή Ῥόδος Ἀλέξης", "ΟΔΥΣΣΕΥΣ Σ ΣΑΣ", "άϋλος μαϊμού ρωμέικα ρωμαίικα"),
    *("ijsbrand Straße ŉ ǆana ﬁfi", "Đặng thùy ơn", "мария Ђорђе Їжакевич", "ნინო", "արեւ Արամ", "ß ẞ"),
]
"""Invented words with what is hard in them."""

LANGUAGES = ("", "en", "tr", "az", "lt", "el", "nl", "ru", "vi")


def test_capitals_and_small_letters_are_those_of_icu() -> None:
    """ECMA-402, toLocaleUpperCase and toLocaleLowerCase: Unicode SpecialCasing and CLDR's Greek."""
    if shutil.which("node") is None:
        pytest.skip("the system has no node (package nodejs)")
    code = (
        "const [names, tags] = JSON.parse(process.argv[1]);"
        "const all = tags.map(t => names.map(n => t ? [n.toLocaleUpperCase(t), n.toLocaleLowerCase(t)]"
        " : [n.toUpperCase(), n.toLowerCase()]));"
        "process.stdout.write(JSON.stringify(all));"
    )
    asked = json.dumps([NAMES, LANGUAGES])
    done = subprocess.run(["node", "-e", code, asked], capture_output=True, check=True)
    for language, answers in zip(LANGUAGES, json.loads(done.stdout), strict=True):
        for name, (capitals, small) in zip(NAMES, answers, strict=True):
            ours = upper(name, language), lower(name, language)
            assert [unicodedata.normalize("NFC", text) for text in ours] == [
                unicodedata.normalize("NFC", text) for text in (capitals, small)
            ], (language, name)


@pytest.mark.parametrize(
    ("text", "language", "capitals"),
    [
        ("groß", "de-AT", "GROẞ"),
        ("groß", "", "GROSS"),
        ("և", "hy", "ԵՎ"),
        ("ή", "el", "Ή"),
        ("άη", "el", "ΑΗ"),
    ],
)
def test_capitals(text: str, language: str, capitals: str) -> None:
    """ẞ: Council for German Orthography, 2017; եւ: ICU (both from memory); Greek: CLDR, Greek-Upper."""
    assert upper(text, language) == capitals


def test_a_dot_that_stands_by_itself() -> None:
    """SpecialCasing.txt, tr and az, After_I."""
    assert lower("I\u0307NCI", "tr") == "incı"


@pytest.mark.parametrize(
    ("text", "language", "wanted"),
    [
        ("ijsbrand van der ijssel", "nl", "IJsbrand Van Der IJssel"),
        ("ijsbrand", "en", "Ijsbrand"),
        ("ĳda", "nl", "Ĳda"),
        ("iris", "tr-TR", "İris"),
        ("άννα-μαρία", "el", "Άννα-Μαρία"),
        ("McGee o’neil", "", "McGee O’neil"),
        ("ǆana", "", "ǅana"),
        ("ნინო", "ka", "ნინო"),
    ],
)
def test_titles(text: str, language: str, wanted: str) -> None:
    """The IJ: ICU for Dutch; ǅ and Georgian, which has no titlecase: Unicode's UnicodeData.txt."""
    assert title(text, language) == wanted
