"""Writes what is measured on a folder's fonts, and the page that shows it.

Run ``python -m render.lettering.catalogue [FOLDER]`` after a font was added or changed: it writes
``measured.toml``, ``finest.json`` and ``README.md`` beside ``fonts.toml``; it takes a minute or two.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Final

from render.lettering import knowing
from render.lettering.detail import JOINED_FROM, MEASURED, SHARE, Detail, Details, measure
from render.lettering.finest import SHORT_EM
from render.lettering.font import Font
from render.lettering.shelf import Entry, Shelf
from render.resources import folder as resource_folder

SAMPLE_STROKE_MM: Final = 0.3
"""The page says at which height of capitals the thinnest stroke is as wide as this: a fine laser's line."""

ALPHABETS: Final = {
    "western Latin": "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÐÑÒÓÔÕÖØÙÚÛÜÝÞßàáâãäåæçèéêëìíîïðñòóôõöøùúûüýþÿŒœŸ",
    "eastern Latin": "ĄĆĘŁŃÓŚŹŻąćęłńóśźżČĎĚŇŘŠŤŮŽčďěňřšťůžŐŰőűĂȘȚășțĐđĀĒĢĪĶĻŅŪāēģīķļņūĖĮŲėįų",
    "Turkish": "ÇĞİÖŞÜçğıöşü",
    "Vietnamese": "ĂÂĐÊÔƠƯẠẢẤẦẨẪẬẮẰẲẴẶẸẺẼẾỀỂỄỆỈỊỌỎỐỒỔỖỘỚỜỞỠỢỤỦỨỪỬỮỰỲỴỶỸ"
    "ăâđêôơưạảấầẩẫậắằẳẵặẹẻẽếềểễệỉịọỏốồổỗộớờởỡợụủứừửữựỳỵỷỹ",
    "Greek": "ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩΆΈΉΊΌΎΏαβγδεζηθικλμνξοπρςστυφχψωάέήίόύώϊϋΐΰ",
    "Cyrillic": "АБВГДЕЖЗИЙКЛМНОПРСТУФХЦЧШЩЪЫЬЭЮЯабвгдежзийклмнопрстуфхцчшщъыьэюяЁёІіЇїЄєҐґЈјЉљЊњЋћЂђЏџ",
    "Hebrew": "אבגדהוזחטיךכלםמןנסעףפץצקרשת",
    "Arabic": "ءآأؤإئابةتثجحخدذرزسشصضطظعغفقكلمنهوىي",
    "Persian and Urdu": "پچژکگیٹڈڑںھہےۓ",
    "Devanagari": "अआइईउऊएऐओऔकखगघचछजझटठडढणतथदधनपफबभमयरलवशषसहािीुूेैोौं्",
    "Armenian": "ԱԲԳԴԵԶԷԸԹԺԻԼԽԾԿՀՁՂՃՄՅՆՇՈՉՊՋՌՍՎՏՐՑՒՓՔՕՖաբգդեզէըթժիլխծկհձղճմյնշոչպջռսվտրցւփքօֆև",
    "Georgian": "აბგდევზთიკლმნოპჟრსტუფქღყშჩცძწჭხჯჰ",
    "Bengali": "অআইঈউঊঋএঐওঔকখগঘঙচছজঝঞটঠডঢণতথদধনপফবভমযরলশষসহািীুূৃেৈোৌ়্ৎংঃঁ",
    "Tamil": "அஆஇஈஉஊஎஏஐஒஓஔகஙசஜஞடணதநனபமயரறலளழவஷஸஹாிீுூெேைொோௌ்",
    "Thai": "กขคงจฉชซญฐณดตถทธนบปผฝพฟภมยรลวศษสหอฮะาิีึืุูเแโใไ่้์",
}
"""The letters that each kind of name needs (from general knowledge of the alphabets, no source)."""

_NEARLY: Final = 6


def measured_table(shelf: Shelf, details: dict[str, Detail]) -> str:
    """The table of measured values, TOML."""
    lines = ["# Measured on the files by: python -m render.lettering.catalogue", "# Lengths are in em.", ""]
    for name, detail in details.items():
        font = shelf.find(name)
        lines += [
            f"[{name}]",
            f'sha256 = "{font.sha256}"',
            f"thinnest = {detail.thinnest:.5f}",
            f"joining = {detail.joining:.3f}",
            f"cap_height = {font.cap_height:.4f}",
            f"x_height = {font.x_height:.4f}",
            "",
        ]
    return "\n".join(lines)


def page(shelf: Shelf, details: dict[str, Detail]) -> str:
    """The page about the fonts, Markdown."""
    head = ("id", "family", "use", "licence", "reserved name", "joins", "thinnest stroke, % of capitals")
    columns = (*head, f"{SAMPLE_STROKE_MM} mm at capitals of", "alphabets", "file")
    rows = [_row(shelf.entry(name), shelf.find(name), detail) for name, detail in details.items()]
    table = [columns, ("---",) * len(columns), *rows]
    files = [f"{shelf.find(name).sha256}  {_file(shelf.entry(name))}" for name in details]
    return "\n".join(
        (
            _INTRODUCTION,
            *("| " + " | ".join(row) + " |" for row in table),
            "",
            "## SHA-256 of the files",
            "",
            "```",
            *files,
            "```",
            "",
        )
    )


_INTRODUCTION: Final = f"""# Fonts

Open-licence fonts that travel with Monikerf, byte for byte as their makers publish them, each beside the
full text of its licence. This page is written by `python -m render.lettering.catalogue`; what is said by
hand about each font is in `fonts.toml`, what was measured is in `measured.toml`.

* **thinnest stroke**: least thickness of the letters a to z and A to Z; one letter in {1 / SHARE:.0f} is
  thinner still. Ends of strokes up to {SHORT_EM} em long do not count, joins do. The next column says how
  tall the capitals must be for that stroke to be {SAMPLE_STROKE_MM} mm wide.
* **joins**: more than {JOINED_FROM:.0%} of the pairs of small letters touch. Space between letters would tear
  such a font apart, so it is refused.
* **alphabets**: complete ones, and those that are complete but for a few letters. Letters that a file draws
  wrongly count as missing.
* **reserved name**: a changed or subset file must not carry it (SIL Open Font License 1.1, condition 3).

Chinese, Japanese and Korean names need a font of your own: put its file into `fonts/` of your shop folder,
and ask for it by its file name. Of a collection (TTC) the first font is taken. A file `fonts.toml` beside
it may name another, and say what the font is for, so that it stands in for names of that writing first
(Jpan, Kore, Hans for simplified and Hant for traditional Chinese, by the text's `xml:lang` or its kana or
hangul):

```toml
[my-song]
file = "MySong.ttc"
face = 2
scripts = ["Hans"]
```

A Latin font never stands in for such names, nor one of them for Latin letters.
"""


def _row(entry: Entry, font: Font, detail: Detail) -> tuple[str, ...]:
    share = detail.thinnest / font.cap_height
    return (
        f"`{entry.id}`",
        f"{font.family} {font.style}",
        entry.use,
        entry.licence,
        entry.reserved,
        "yes" if detail.joined else "",
        f"{share:.1%}".rstrip("%"),
        f"{SAMPLE_STROKE_MM / share:.1f} mm",
        alphabets_of(font),
        f"[{entry.path.name}]({_file(entry)}), [licence]({entry.path.parent.name}/LICENSE.txt)",
    )


def _file(entry: Entry) -> str:
    return f"{entry.path.parent.name}/{entry.path.name}"


def alphabets_of(font: Font) -> str:
    """The alphabets that a font has, and those that it has but for a few letters, in words."""
    found = []
    for alphabet, letters in ALPHABETS.items():
        missing = font.lacks(letters)
        if not missing:
            found.append(alphabet)
        elif len(missing) <= _NEARLY:
            found.append(f"{alphabet} without {' '.join(missing)}")
    return ", ".join(found)


def write(folder: Path) -> None:
    """Measure the fonts of a folder and write its tables and its page."""
    shelf = Shelf((folder,))
    details = {name: measure(shelf.find(name)) for name in shelf.ids()}
    (folder / MEASURED).write_text(measured_table(shelf, details), encoding="utf-8", newline="\n")
    (folder / "README.md").write_text(page(shelf, details), encoding="utf-8", newline="\n")
    knowing.write(folder, ALPHABETS.values())


def read(folder: Path) -> tuple[Shelf, dict[str, Detail]]:
    """The fonts of a folder and what is known of them."""
    shelf, details = Shelf((folder,)), Details((folder,))
    return shelf, {name: details.of(shelf.find(name)) for name in shelf.ids()}


if __name__ == "__main__":
    write(Path(sys.argv[1]) if len(sys.argv) > 1 else resource_folder("fonts_open"))
