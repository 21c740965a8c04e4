"""How bytes become letters: certain or asked about, never guessed in silence."""

from __future__ import annotations

import pytest

from render.errors import TableError
from render.intake.encodings import decode

LISTS = {
    "french": "Nom;Table\nHélène Lefol;1\nFrançoise Têtu;2\nNoëlle d’Arvor;3\nAnaïs Brûlé;4\n",
    "german": "Name;Tisch\nJürgen Groß;1\nKäthe Vogel;2\nSönke Öhr;3\n",
    "spanish": "Nombre;Mesa\nIñaki Peñalar;1\nMaría Zúñer;2\nJosé Agüil;3\n",
    "danish": "Navn;Bord\nSøren Ågrup;1\nÆbbe Kjær;2\nHåkon Bø;3\n",
    "swedish": "Namn;Bord\nÅsa Öbring;1\nGöte Sjöfält;2\n",
    "portuguese": "Nome;Mesa\nJoão Conceirão;1\nInês Araújel;2\nÂngela Quintã;3\n",
}
FOREIGN = {
    ("cp1250", "polish"): "Nazwisko;Stół\nŁucja Żarnowska;1\nJędrzej Pąkowski;2\n",
    ("cp1250", "czech"): "Jméno;Stůl\nPřemysl Dvořák;1\nRůžena Šťastná;2\n",
    ("cp1251", "russian"): "Имя;Стол\nМария Орлова;1\nЮрий Щукин;2\n",
    ("cp1253", "greek"): "Όνομα;Τραπέζι\nΕλένη Σταύρου;1\n",
    ("cp1254", "turkish"): "İsim;Masa\nIşıl Çağlar;1\n",
    ("cp1255", "hebrew"): "שם;שולחן\nדנה כהן;1\n",
    ("mac_roman", "french"): "Nom;Table\nHélène Lefol;1\n",
    ("mac_roman", "german"): "Name;Tisch\nJürgen Groß;1\n",
    ("cp850", "german"): "Name;Tisch\nJürgen Groß;1\n",
    ("cp850", "spanish"): "Nombre;Mesa\nIñaki Peñalar;1\n",
    ("iso8859_15", "czech"): "Name;Table\nDušan Žák;1\n",
    ("koi8_r", "russian"): "Имя;Стол\nМария Орлова;1\n",
    ("cp932", "japanese"): "名前;席\n田中 さくら;1\n",
    ("gb18030", "chinese"): "姓名;桌\n王小明;1\n",
    ("cp949", "korean"): "이름;자리\n김민지;1\n",
}


@pytest.mark.parametrize("language", LISTS)
def test_windows_1252_is_found_out(language: str) -> None:
    decoded = decode(LISTS[language].encode("cp1252"), "t.csv")
    assert (decoded.text, decoded.encoding) == (LISTS[language], "cp1252")


@pytest.mark.parametrize(("page", "language"), FOREIGN)
def test_other_pages_are_asked_about_with_the_right_reading_shown(page: str, language: str) -> None:
    text = FOREIGN[page, language]
    word = next(word for word in text.split("\n")[1].replace(";", " ").split() if not word.isascii())
    with pytest.raises(TableError) as caught:
        decode(text.encode(page), "t.csv")
    assert word in caught.value.message
    assert "--encoding" in caught.value.hint
    assert caught.value.place == "t.csv"
    assert decode(text.encode(page), "t.csv", page).text == text


def test_a_lasting_doubt_is_told() -> None:
    decoded = decode(LISTS["danish"].encode("cp1252"), "t.csv")
    (problem,) = decoded.problems
    assert problem.code == "encoding-assumed"
    assert "cp1252 would read: Søren, Ågrup" in problem.message
    assert "cp1250 would read: Sřren, Ĺgrup" in problem.message
    assert decode(LISTS["german"].encode("cp1252"), "t.csv").problems == ()  # all pages agree on ü ß ä ö Ö


def test_what_may_be_either_is_asked_about() -> None:
    with pytest.raises(TableError) as caught:
        decode("Name\nSøren\n".encode("cp1252"), "guests.csv")
    assert "cp1252 would read: Søren; cp1250 would read: Sřren" in caught.value.message
    assert "add --encoding cp1252 or --encoding cp1250" in caught.value.hint


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_unicode_is_found_out(encoding: str) -> None:
    text = "Name;Table\nŁucja Żarnowska;1\nМария;2\n"
    decoded = decode(text.encode(encoding), "t.csv")
    assert (decoded.text, decoded.problems) == (text, ())
    assert encoding.startswith(decoded.encoding)


def test_plain_text_with_a_nul_is_not_taken_for_utf_16() -> None:
    decoded = decode(b"Name,Table\nAn\0na,1\n", "t.csv")
    assert (decoded.text, decoded.encoding) == ("Name,Table\nAn\0na,1\n", "utf-8")
