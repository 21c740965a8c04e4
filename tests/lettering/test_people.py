"""Initials of names, against Unicode CLDR's own cases and ICU4J."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

from render.lettering.initials import Length, first_letter, given_outright, initials
from render.lettering.people import PARTICLES, Person, couple, split_name

JARS = [Path("/usr/share/java") / name for name in ("icu4j-72.1.jar", "icu4j.jar")]
LOCALES = [
    "en",
    "de",
    "fr",
    "es",
    "it",
    "pt",
    "nl",
    "da",
    "sv",
    "nb",
    "fi",
    "pl",
    "cs",
    "hu",
    "tr",
    "ja",
    "ko",
    "zh",
    "vi",
    "ru",
    "uk",
    "el",
    "ro",
    "hr",
    "et",
    "ca",
    "id",
    "sw",
]
NAMES = (
    {"given": "Mary Sue", "given2": "Hamish", "surname": "Watson"},
    {"given": "Irene", "surname": "Adler"},
    {"given": "Vincent", "given2": "Willem", "surname-prefix": "van", "surname-core": "Gogh"},
    {"given": "Rosa", "surname": "Ruiz", "surname2": "Vega"},
    {"given": "Käthe", "surname": "Ölschläger"},
    {"given": "irmak", "surname": "işık"},
)
ORACLE = """
import com.ibm.icu.text.*;
import java.util.*;
public class Oracle {
  public static void main(String[] args) throws Exception {
    Scanner in = new Scanner(System.in, "UTF-8");
    java.io.PrintStream out = new java.io.PrintStream(System.out, true, "UTF-8");
    while (in.hasNextLine()) {
      String[] row = in.nextLine().split("\\t");
      SimplePersonName.Builder name = SimplePersonName.builder();
      Locale locale = Locale.forLanguageTag(row[0]);
      name.setLocale(locale);
      for (int i = 1; i < row.length; i += 2) {
        String[] key = row[i].split("-");
        Set<PersonName.FieldModifier> of = key.length < 2 ? null
          : Collections.singleton(PersonName.FieldModifier.forString(key[1]));
        name.addField(PersonName.NameField.forString(key[0]), of, row[i + 1]);
      }
      StringBuilder line = new StringBuilder();
      for (PersonNameFormatter.Length length : PersonNameFormatter.Length.values())
        for (PersonNameFormatter.Formality how : PersonNameFormatter.Formality.values())
          line.append(PersonNameFormatter.builder().setLocale(locale).setLength(length)
            .setUsage(PersonNameFormatter.Usage.MONOGRAM).setFormality(how).build()
            .formatToString(name.build())).append('\\t');
      out.println(line);
    }
  }
}
"""


def every(person: Person, language: str) -> list[str]:
    return ["".join(initials(person, language, n, formal=f)) for n in Length for f in (True, False)]


def test_cldr_cases() -> None:
    """Unicode CLDR, common/testData/personNameTest, usage monogram (commit 3e1e06f)."""
    outside = os.environ.get("MONIKERF_OUTSIDE")
    if not outside:
        pytest.skip("MONIKERF_OUTSIDE is not set: no CLDR cases")
    rows = [
        line.split("\t")
        for line in (Path(outside) / "person-names" / "monograms.tsv").read_text("utf-8").splitlines()
        if not line.startswith("#")
    ]
    assert len(rows) >= 11
    for language, order, given, informal, given2, prefix, core, second, *wanted in rows:
        person = Person(given, informal, given2, prefix, core, second, order == "surname first")
        got = every(person, language)
        assert [got[0], got[1], got[4], got[5]] == wanted, (language, given, core)


def test_icu4j_over_28_languages(tmp_path: Path) -> None:
    """ICU4J 72 (Debian libicu4j-java). Polish dots are left out; a name without a surname, of which ICU makes
    nothing when it is short and formal, and Dutch IJ, which we take as one letter, are not asked.
    """
    jars = [str(jar) for jar in JARS if jar.exists()]
    if not jars or not shutil.which("java"):
        pytest.skip("no ICU4J or no Java to run it")
    source = tmp_path / "Oracle.java"
    source.write_text(ORACLE, "utf-8")
    asked = [(language, name) for language in LOCALES for name in NAMES]
    lines = ["\t".join((language, *(x for pair in name.items() for x in pair))) for language, name in asked]
    ran = subprocess.run(
        ["java", "-Dfile.encoding=UTF-8", "-cp", ":".join(jars), str(source)],
        input="\n".join(lines), capture_output=True, text=True, encoding="utf-8", check=True, timeout=120,
    )  # fmt: skip
    answers = [line.replace(".", "").split("\t")[:6] for line in ran.stdout.splitlines()]
    assert len(answers) == len(asked) == 168
    for (language, name), answer in zip(asked, answers, strict=True):
        prefix, core = name.get("surname-prefix", ""), name.get("surname-core", name.get("surname", ""))
        person = Person(name["given"], "", name.get("given2", ""), prefix, core, name.get("surname2", ""))
        assert every(person, language) == answer, (language, name)


def test_particles_against_nameparser() -> None:
    """PyPI nameparser takes our particles, where it knows them, for the head of the surname too."""
    from nameparser import HumanName
    from nameparser.config import CONSTANTS

    known = [particle for particle in sorted(PARTICLES) if particle in CONSTANTS.prefixes]
    assert len(known) > 20
    for particle in known:
        theirs = HumanName(f"Anna Marie {particle} Holm").last
        ours = split_name(f"Anna Marie {particle} Holm")
        assert f"{ours.prefix} {ours.core}" == theirs == f"{particle} Holm"


@pytest.mark.parametrize(
    ("text", "language", "wanted"),
    [
        ("Ida Vale", "", ("Ida", "", "", "Vale", "")),
        ("Dr. Anna Maria van der Berg Jr.", "", ("Anna", "Maria", "van der", "Berg", "")),
        ("van Rijn, Anna Lou", "", ("Anna", "Lou", "van", "Rijn", "")),
        ("Rijn, Anna van", "nl", ("Anna", "", "van", "Rijn", "")),
        ("Rosa María Ruiz Vega", "es", ("Rosa", "María", "", "Ruiz", "Vega")),
        ("Rosa Ruiz y Vega", "es", ("Rosa", "", "", "Ruiz", "Vega")),
        ("Nagy Anna Éva", "hu", ("Anna", "Éva", "", "Nagy", "")),
        ("Nguyễn Thị Hoa", "vi", ("Hoa", "Thị", "", "Nguyễn", "")),
        ("Zendaya", "", ("Zendaya", "", "", "", "")),
        ("Otto von und zu Hohenfels", "de", ("Otto", "", "von und zu", "Hohenfels", "")),
    ],
)
def test_splitting(text: str, language: str, wanted: tuple[str, ...]) -> None:
    (who,) = couple(text, language)
    assert (who.given, who.given2, who.prefix, who.core, who.surname2) == wanted


@pytest.mark.parametrize(
    ("text", "language", "wanted"),
    [
        ("Ida & Otto Vale", "", [("Ida", "Vale"), ("Otto", "Vale")]),
        ("Ida Holm + Otto Vale", "", [("Ida", "Holm"), ("Otto", "Vale")]),
        ("Ida und Otto Vale", "de", [("Ida", "Vale"), ("Otto", "Vale")]),
        ("Ida Lou & Otto / de Vale", "", [("Ida", "Vale"), ("Otto", "Vale")]),
        ("Alexander Vale", "", [("Alexander", "Vale")]),
    ],
)
def test_couples(text: str, language: str, wanted: list[tuple[str, str]]) -> None:
    assert [(who.given, who.core) for who in couple(text, language)] == wanted


@pytest.mark.parametrize(
    ("text", "language", "letter"),
    [
        ("ida", "", "I"), ("irmak", "tr", "İ"), ("ijsbrand", "nl", "IJ"), ("ijsbrand", "", "I"),
        ("Άννα", "el", "Α"), ("élan", "fr", "É"), ("e\u0301lan", "", "É"), ("x\u0307y", "", "Ẋ"),
        ("'t Hooft", "nl", "T"), ("ørn", "da", "Ø"), ("", "", ""), ("123", "", ""),
        ("m\u0328a", "", "M\u0328"),
    ],
)  # fmt: skip
def test_a_first_letter_is_a_whole_one(text: str, language: str, letter: str) -> None:
    assert first_letter(text, language) == letter


def test_letters_given_outright_are_taken_as_they_are() -> None:
    assert given_outright("a. M̨-T & 4") == ("a", "M̨", "T", "4")
