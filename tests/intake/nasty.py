"""Rows as strangers send them, each with what must become of it; run this file to write the two tables anew.

All names are invented. What is expected is stated here by hand for each kind of dirt, never by asking the
code.
"""

from __future__ import annotations

import csv
import datetime
import io
import itertools
import json
import unicodedata
from dataclasses import asdict, dataclass
from pathlib import Path

TABLES = Path(__file__).parent / "tables"
HEADINGS = ("Guest", "Qty", "Remarks", "Seat colour")


@dataclass(frozen=True)
class Case:
    """A row and its outcome: problem codes (sorted), pieces made, the name kept and the name once mended."""

    cells: tuple[object, ...]
    codes: str = ""
    pieces: int = 1
    kept: str = ""
    mended: str = ""


GIVEN = """
Zoë Anaïs Bjørn Chloé Dušan Éowyn Françoise Gösta Håkon Íris Jürgen Käthe Łucja Márton Ñusta
Óscar Pál Renée Søren Tânia Ülle Véronique Wálter Xiména Ýmir Żaneta Åse Çelik Đorđe Ğülin
"""
PLAIN = """
Marta Tobin Elsa Ruben Ivo Clara Hugo Nina Pavel Greta Linus Olga Bruno Selma Viktor Runa Emil
Petra Arno Tilda
"""
SURNAMES = """
Brandt Korso Mellin Vasko Tarrel Olden Fenwick Hartel Rusk Dorval Lindal Marbo Kestrel Novak
Quill Sandor
"""
_pairs = itertools.product(SURNAMES.split(), GIVEN.split())
_plain_pairs = itertools.product(SURNAMES.split(), PLAIN.split())


def accented() -> str:
    """The next invented name with a letter beyond ASCII."""
    surname, given = next(_pairs)
    return f"{given} {surname}"


def plain() -> str:
    """The next invented name in ASCII."""
    surname, given = next(_plain_pairs)
    return f"{given} {surname}"


def row(
    name: object,
    codes: str = "",
    *,
    qty: object = "1",
    note: object = "",
    pieces: int = 1,
    mended: str | None = None,
) -> Case:
    """A case for a name; kept as it is but for NFC, and not changed by mending unless said so."""
    kept = unicodedata.normalize("NFC", str(name))
    return Case(
        (name, qty, note, "blue"), codes, pieces, kept if pieces else "", (mended or kept) if pieces else ""
    )


CLEAN = """
Null Island-Berg|O'Brannagh|O’Brannagh|D'Angolo|van der Velt|de la Cruzada|Ångström-Olsund
Jean-Luc|Perrot|María José Ñandu|Þóra Ægisdóttir Nguyễn Thị Ánh|Đặng Văn Hùng|Ștefan Țăranu
İpek Şahinoğlu|Işıl|Çağlar|Łukasz Żółkiewski|Dvořák Přemysl|Győző Őrségi|Mihkel Õunapuu
Jānis Kļaviņš Ελένη Σταύρου|Мария|Петрова|Олексій Їжакевич|Ђорђе Љубић|דנה כהן-אור|ליאת בר
سارة الحداد|علی رضایی|می‌خواهم رضا|अनीता|शर्मा|क्‍षमा राव สมชาย ใจดี|김민지|田中 さくら|王小明
Անի Պետրոսյան|ნინო ბერიძე|Li|Bo|Xu Wu|Anna &|Ben|McDorran|DeShawn Ollo ʻIolani Kahele|Oʻahu Pua
L·lull Puig|Núria Col·lell|Sœur|Agnès|Straßer Groß|Ĉapelo Ŝajna|Ḥasan ʿAbbud|Ṅgọzi Okọrọ
Ƙasim Ɗan Siobhán Ní Bhrolla|Gwrhyd ap|Ynyr|Ásgeirr Óðinsson|Kwame Nkrobo|Ana-María d’Ors
Anne Marie St. Clair|Lee|Ng|Ó Dubhlaigh|Tuðrun Ýmisdóttir|J. R. Tollavik|MacOrrin
"""

KEPT_WORDS = """
Null NULL null NA N/A None none nan NaN nil True False undefined
"""
PLACEHOLDERS = ["TBC", "tba", "Guest", "Plus One", "+1", "unknown", "N.N."]


def clean() -> list[str]:
    """Names with nothing wrong."""
    return CLEAN.replace("\n", "|").strip("|").split("|")


def clean_rows() -> list[Case]:
    """A row for each of these; one stands there with either apostrophe, which is told."""
    return [row(name, "nearly-same-name" * (name == "O’Brannagh")) for name in clean()]


def words_and_numbers() -> list[Case]:
    """Words for nothing, numbers, formulas, emoji: kept exactly, and told."""
    caps = {"NULL", "null", "none", "nan", "undefined", "nil"}
    cases = []
    seen: set[str] = set()
    for word in KEPT_WORDS.split():
        codes = {"empty-word"} | (
            {"all-capitals"} if word.isupper() else {"no-capitals"} if word.islower() else set()
        )
        codes = codes if word in caps else {"empty-word"}
        codes |= {"same-name"} if word.casefold() in seen else set()
        seen.add(word.casefold())
        cases.append(row(word, " ".join(sorted(codes))))
    more = {
        "TBC": "all-capitals",
        "tba": "no-capitals",
        "+1": "digits quantity-in-words",
        "unknown": "no-capitals",
    }
    for word in PLACEHOLDERS:
        codes = ["placeholder", *more.get(word, "").split()]
        cases += [row(word, " ".join(sorted(codes)))]
    cases += [
        row(text, "digits") for text in ("007", "1e5", "12", "3.14", "2024-03-01", "1/2", "R2 Dotson", "B12")
    ]
    cases += [
        row("=SUM(A1:A9)", "all-capitals digits formula-like sign"),
        row('=HYPERLINK("x")', "formula-like sign"),
        row("=1+1", "digits formula-like quantity-in-words sign"),
        row("@NOW()", "all-capitals formula-like sign"),
        row("-cmd(x)", "formula-like no-capitals"),
    ]
    for sign in "🎉❤🙂★☺♥":
        cases.append(row(f"{plain()} {sign}", "emoji"))
    cases += [
        row(f"{plain()}{sign}", "sign")
        for sign in ("#", "@", "<3"[:1], "_", "|", "€", "™"[:0] or "=", "*", ":")
    ]
    return cases


def refused() -> list[Case]:
    """Rows of which nothing can be made until someone mends them."""
    cases = [row(text, "empty-name", note="has a note", pieces=0) for text in ("",)]
    cases += [row(text, "empty-name spaces", note="n", pieces=0) for text in (" ", "  ", "\u00a0")]
    cases += [row(text, "no-letters", pieces=0) for text in ("-", "--", ".", "…", "?", "???", "&", "(?)")]
    cases += [row(text, "sheet-error", pieces=0) for text in ("#NAME?",)]
    cases[-1] = row("#NAME?", "all-capitals sheet-error sign", pieces=0)
    cases += [
        row("#REF!", "all-capitals sheet-error sign", pieces=0),
        row("#N/A", "sheet-error sign", pieces=0),
    ]
    for qty in ("two", "2x", "1.5", "2.0", "-1", "1,000", "1e3", "a few", "²", "٣"):
        cases.append(row(plain(), "quantity-not-a-number", qty=qty, pieces=0))
    cases += [row(plain(), "quantity-zero", qty=qty, pieces=0) for qty in ("0", "00")]
    cases += [
        row(plain(), "quantity-too-large", qty=qty, pieces=0)
        for qty in ("501", "99999", "12345678901234567890")
    ]
    for _ in range(6):
        name = accented()
        bad = "".join("\ufffd" if ord(char) > 127 else char for char in name)
        cases.append(row(bad, "lost-letter", pieces=0))
    cases += [
        row(text, "lost-letter", pieces=0)
        for text in ("M?ller", "Bj?rn Olden", "Fran?oise", "Dvo??k", "J?rgen Rusk")
    ]
    cases += [
        row(text, "broken-accent", pieces=0)
        for text in ("N˜zamett˜n", "Jos´", "Rene` Olden", "Mu¨ller", "Zoe¨", "A˚se", "Fran¸ois", "Ren^e")
    ]
    cases += [row(text, "lone-accent", pieces=0) for text in ("\u0301Elodie", "Ana \u0308Olm", "िनशा")]
    cases += [row("Z" + "\u0335\u0336\u0337\u0338\u0315\u0316" + "algo", "heaped-accents", pieces=0)]
    cases += [
        row(f"{plain()}{char}", "no-such-character", pieces=0)
        for char in ("\ue000", "\uf8ff", "\U000fffff", "\u0378")
    ]
    return cases


def mended(with_controls: bool) -> list[Case]:
    """Rows that have a mend, applied only when asked for."""
    cases = []
    for before, after in ((" ", ""), ("", " "), ("  ", "  "), ("", "\u00a0"), ("\u2003", ""), ("\u3000", "")):
        name = accented()
        cases.append(row(f"{before}{name}{after}", "spaces", mended=name))
    for space in ("  ", "   ", "\u00a0", "\u2009", " \u00a0", "\u202f"):
        name = plain()
        cases.append(row(name.replace(" ", space), "spaces", mended=name))
    for char in "\u200b\ufeff\u2060\u00ad\u200c\u200d\u180e\u3164":
        name = plain()
        cases.append(row(name[:2] + char + name[2:], "invisible-character", mended=name))
    for char in "\u200e\u200f\u202a\u202c\u202d\u202e\u2066\u2069\u061c":
        name = plain()
        cases.append(row(name[:3] + char + name[3:], "direction-character", mended=name))
    if with_controls:
        for char in "\x00\x01\x07\x08\x1b\x7f\x80\x9f":
            name = plain()
            cases.append(row(name[:4] + char + name[4:], "control-character", mended=name))
        for char in ("\t", "\n", "\r\n", "\v", "\f", "\n\n"):
            name = plain()
            cases.append(row(name.replace(" ", char), "control-character", mended=name))
    for _ in range(14):
        name = accented()
        scrambled = "".join(bytes([b]).decode("cp1252", "ignore") or chr(b) for b in name.encode())
        if scrambled.isprintable() or with_controls:
            cases.append(row(scrambled, "mojibake", mended=name))
    for name in ("Zoë Mellin-Roth", "Renée Korso-Lang", "Jürgen Brandt-Ey"):
        twice = name.encode().decode("cp1252").encode().decode("cp1252")
        cases.append(row(twice, "mojibake", mended=name))
    for name, page in (
        ("Søren Korso-Dahl", "mac_roman"),
        ("Märta Vasko-Lund", "cp850"),
        ("Мария Орлова", "cp1251"),
    ):
        cases.append(row(name.encode().decode(page), "mojibake", mended=name))
    for latin, other in ("aа", "eе", "oо", "cс", "pр", "xх", "iі", "oο", "vν", "AА", "MМ", "TТ", "HН", "BВ"):
        name = f"{plain()} {latin}lm{latin}r" if latin.islower() else f"{plain()} {latin}lmer"
        cases.append(row(name.replace(f" {latin}lm", f" {other}lm"), "look-alike", mended=name))
    cases += [
        row("Васовa Мимоза", "look-alike", mended="Васова Мимоза"),
        row("Μaρία Στάμου", "look-alike", mended="Μαρία Στάμου"),
    ]
    for entity, char in (
        ("&amp;", "&"),
        ("&eacute;", "é"),
        ("&#233;", "é"),
        ("&#x27;", "'"),
        ("&ouml;", "ö"),
        ("&szlig;", "ß"),
    ):
        name = plain()
        cases.append(row(f"{name}{entity}a", "web-code", mended=f"{name}{char}a"))
    for styled, name in (
        ("ﬁona Ruß", "fiona Ruß"),
        ("Ａｎｎａ Olm", "Anna Olm"),
        ("𝓛𝓲𝓷 Olm", "Lin Olm"),
        ("Ⓜⓐⓧ Olm", "Max Olm"),
    ):
        cases.append(row(styled, "styled-letters", mended=name))
    cases += [
        row("O´Hanrahan", "accent-for-apostrophe", mended="O'Hanrahan"),
        row("D`Arvit Pia", "accent-for-apostrophe", mended="D'Arvit Pia"),
    ]
    for _ in range(8):
        given, surname = accented().split()
        cases.append(row(f"{surname}, {given}", "surname-first", mended=f"{given} {surname}"))
    cases.append(row("Werlen-Arnsruh, van", "surname-first", mended="van Werlen-Arnsruh"))
    cases += [row(unicodedata.normalize("NFD", accented())) for _ in range(8)]
    return cases


def customs() -> list[Case]:
    """Rows that are odd as names, or twice the same; kept as they are."""
    cases = [row(accented().upper().replace("SS", "ß").replace("ß", "SS"), "all-capitals") for _ in range(8)]
    cases += [row(accented().lower(), "no-capitals") for _ in range(8)]
    for title in ("Dr.", "Mrs", "Herr", "Frau", "Mme", "Sig.", "Prof.", "Sra.", "Г-н", "Lady"):
        cases.append(row(f"{title} {accented()}", "title"))
    for text in ("2x {}", "{} x2", "{} (2)", "{} 3 pcs", "{} +1"):
        cases.append(row(text.format(plain()), "digits quantity-in-words"))
    cases += [row(f"two {plain()}", "quantity-in-words"), row(f"{plain()} twice", "quantity-in-words")]
    notes = ("2x please", "make two", "x3", "three of these", "zwei Stück", "4 copies", "(2)", "deux fois")
    cases += [row(plain(), "quantity-in-words", note=note) for note in notes]
    cases += [
        row(plain(), note=note) for note in ("vegan", "table by the door", "née Olm", "arrives at 7 pm")
    ]
    for suffix in ("Jr.", "III", "PhD", "M.Sc"):
        cases.append(row(f"{plain()}, {suffix}"))
    cases += [row(text, "comma") for text in ("Olm, Ada, Bo", "Kell, ", ", Mabel")]
    cases[-2] = row("Kell, ", "comma spaces", mended="Kell,")
    twice = plain()
    cases += [row(twice), row(twice, "same-name"), row(twice.swapcase().title(), "same-name")]
    cases += [row(plain(), qty=str(n), pieces=n) for n in (2, 3, 12)]
    cases += [row(plain(), qty=" 2 ", pieces=2, codes="spaces"), row(plain(), "no-quantity", qty="")]
    cases += [row(plain(), "", qty="007", pieces=7)]
    return cases


def csv_cases() -> list[Case]:
    """The rows of the CSV table, with rows of too few and too many fields and blank ones between."""
    cases = clean_rows() + words_and_numbers() + refused() + mended(True) + customs()
    ragged = [
        Case((plain(),), "too-few-fields", 0),
        Case((plain(), "1", "note"), "too-few-fields", 0),
        Case((*plain().split(), "1", "note", "blue"), "too-many-fields", 0),
        Case((plain(), "1", "a", "b", "c", "d", "e"), "too-many-fields", 0),
        Case(("", "", "", ""), "blank-row", 0),
        Case((" ", "", "\t", ""), "blank-row", 0),
        Case((), "blank-line", 0),
    ]
    step = len(cases) // len(ragged)
    for number, case in enumerate(ragged):
        cases.insert(number * (step + 1) + 5, case)
    return cases


def xlsx_cases() -> list[Case]:
    """The rows of the workbook, with cells that hold numbers, dates, truth values, errors and formulas."""
    cases = clean_rows() + words_and_numbers() + refused() + mended(False) + customs()
    cases = [
        case
        for case in cases
        if all(_fits_xml(cell) for cell in case.cells) and not str(case.cells[0]).startswith(("=", "#"))
    ]
    return [
        *cases,
        Case((7, 1, "", "blue"), "digits", 1, "7", "7"),
        Case((42.0, 1, "", "blue"), "digits", 1, "42", "42"),
        Case((2.5, 1, "", "blue"), "digits", 1, "2.5", "2.5"),
        Case((True, 1, "", "blue"), "all-capitals cell-true-false empty-word same-name", 1, "TRUE", "TRUE"),
        Case((datetime.date(2026, 3, 1), 1, "", "blue"), "cell-date digits", 0),
        Case((datetime.time(9, 30), 1, "", "blue"), "cell-time digits sign", 0),
        row(plain(), qty=2, pieces=2),
        Case((plain(), 2.5, "", "blue"), "quantity-not-a-number", 0),
        Case((plain(), 0, "", "blue"), "quantity-zero", 0),
        Case(("=A2&A3", 1, "", "blue"), "empty-name formula-not-worked-out", 0),
        Case((plain(), "=1+1", "", "blue"), "formula-not-worked-out no-quantity", 0),
        Case((10**17, 1, "", "blue"), "digits long-number", 1, str(10**17), str(10**17)),
    ]


def _fits_xml(cell: object) -> bool:
    return not any(unicodedata.category(char) == "Cc" for char in str(cell))


def write_csv() -> tuple[str, list[dict[str, object]]]:
    """The CSV table, and for each row its first physical line and its outcome."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(HEADINGS)
    expected = []
    for case in csv_cases():
        line = buffer.getvalue().replace("\r\n", "\n").replace("\r", "\n").count("\n") + 1
        writer.writerow(case.cells)
        expected.append(_outcome(case, line))
    return buffer.getvalue(), expected


def _outcome(case: Case, line: int) -> dict[str, object]:
    outcome = {key: value for key, value in asdict(case).items() if key != "cells"}
    outcome["codes"] = " ".join(sorted(case.codes.split()))
    return {"line": line, **outcome}


def write_xlsx(path: Path) -> list[dict[str, object]]:
    """Write the workbook; the outcome of each row."""
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Guests"
    sheet.append(HEADINGS)
    expected = []
    for line, case in enumerate(xlsx_cases(), 2):
        for column, value in enumerate(case.cells, 1):
            cell = sheet.cell(line, column)
            cell.value = value
        expected.append(_outcome(case, line))
    book.save(path)
    return expected


def write_all(folder: Path) -> None:
    """Write both tables and what is expected of them."""
    text, expected = write_csv()
    (folder / "nasty.csv").write_bytes(text.encode("utf-8"))
    (folder / "nasty-csv.json").write_text(_json(expected), encoding="utf-8")
    (folder / "nasty-xlsx.json").write_text(_json(write_xlsx(folder / "nasty.xlsx")), encoding="utf-8")


def _json(rows: list[dict[str, object]]) -> str:
    return "[\n" + ",\n".join(json.dumps(row, ensure_ascii=True, sort_keys=True) for row in rows) + "\n]\n"


if __name__ == "__main__":
    write_all(TABLES)
