"""Which column is which: headings matched to fields by everyday words, and asked about where two match."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from render.errors import TableError

# Everyday words in English, German, French, Spanish, Italian, Portuguese, Dutch, Danish/Norwegian/Swedish,
# Polish,
# Czech, Hungarian, Finnish, Turkish, Greek, Russian; compared without case, accents, spaces and punctuation.
SYNONYMS: Final[Mapping[str, str]] = {
    "name": (
        "name names full-name fullname guest guests guest-name name-of-guest person attendee "
        "attendee-name invitee "
        "participant recipient recipient-name employee employee-name staff-member member display-name "
        "name-on-card "
        "name-to-engrave engraving lettering text personalisation personalization custom-name pet-name "
        "pet dog "
        "gast gäste gastname vollständiger-name ganzer-name teilnehmer person-name mitarbeiter beschriftung "
        "nom-complet nom-et-prénom prénom-et-nom invité invités convive "
        "nombre-completo nombre-y-apellidos invitado invitada invitados nome-completo nome-e-cognome "
        "invitato "
        "invitati ospite ospiti convidado convidados naam volledige-naam navn fulde-navn fullt-navn "
        "namn gæst gjest "
        "gäst imię-i-nazwisko gość goście jméno-a-příjmení hosté név teljes-név vendég vieras isim-soyisim "
        "ad-soyad adı-soyadı misafir όνομα-και-επώνυμο ονοματεπώνυμο имя-и-фамилия имя-фамилия фио "
        "гость гости"
    ),
    "given": (
        "given given-name given-names first first-name firstname forename forenames christian-name "
        "vorname vornamen "
        "rufname prénom prénoms prenom nombres nome-proprio nome-di-battesimo primeiro-nome voornaam fornavn "
        "förnamn imiona křestní-jméno keresztnév utónév etunimi"
    ),
    "surname": (
        "surname surnames last last-name lastname family-name familyname nachname familienname zuname "
        "nom-de-famille apellido apellidos cognome cognomi apelido apelidos sobrenome achternaam "
        "familienaam efternavn "
        "etternavn efternamn nazwisko příjmení vezetéknév családnév sukunimi soyad soyadı soyisim "
        "επώνυμο фамилия"
    ),
    "quantity": (
        "quantity qty count number-of-pieces pieces copies how-many no-of-pieces pcs menge anzahl "
        "stück stückzahl "
        "quantité nombre-de-pièces cantidad piezas quantità pezzi quantidade peças aantal antal antall "
        "stk ilość "
        "počet počet-kusů mennyiség darab db määrä adet miktar ποσότητα количество кол-во штук"
    ),
    "note": (
        "note notes comment comments remark remarks special-requests instructions notiz notizen "
        "bemerkung bemerkungen "
        "anmerkung kommentar hinweis remarque remarques commentaire nota notas comentario comentarios "
        "observaciones "
        "osservazioni commento commenti observações opmerking opmerkingen bemærkning kommentarer "
        "anmärkning uwagi "
        "uwaga poznámka poznámky megjegyzés huomautus lisätieto not notlar açıklama σημείωση σχόλια "
        "примечание "
        "комментарий"
    ),
    "table": (
        "table table-no table-number table-name tisch tischnummer tisch-nr mesa mesa-nº tavolo tafel "
        "tafelnummer bord "
        "bordnummer stół nr-stołu stolik stůl asztal asztalszám pöytä masa masa-no τραπέζι стол номер-стола "
        "numéro-de-table n°-de-table"
    ),
    "line2": (
        "line2 line-2 2nd-line second-line text-2 text2 address message subtitle inscription "
        "zweite-zeile zeile-2 "
        "adresse anschrift ligne-2 deuxième-ligne segunda-línea línea-2 dirección riga-2 seconda-riga "
        "indirizzo "
        "segunda-linha linha-2 endereço adres regel-2 tweede-regel linje-2 adress wiersz-2 adresa "
        "řádek-2 cím osoite "
        "διεύθυνση адрес вторая-строка"
    ),
    "department": (
        "department dept division team section abteilung bereich service-department département "
        "servicio departamento "
        "reparto dipartimento afdeling avdeling avdelning dział oddělení osztály osasto bölüm "
        "departman τμήμα отдел"
    ),
    "company": (
        "company company-name organisation organization firm employer business firma unternehmen "
        "entreprise société "
        "empresa compañía azienda società ditta bedrijf virksomhed bedrift företag společnost cég "
        "yritys şirket "
        "εταιρεία компания фирма организация"
    ),
    "date": (
        "date day event-date wedding-date birthday date-of-birth dob datum hochzeitsdatum geburtstag "
        "fecha data "
        "dato dátum päivä päivämäärä tarih ημερομηνία дата"
    ),
    "features": (
        "features opentype opentype-features font-features letter-forms letterforms forms-of-letters swashes "
        "schriftmerkmale buchstabenformen"
    ),
    "language": (
        "language lang locale sprache langue idioma lingua taal sprog språk język jazyk nyelv kieli "
        "dil γλώσσα язык"
    ),
}

_EITHER: Final[Mapping[str, tuple[str, str]]] = {
    "nombre nome jméno imię nimi isim ad adı όνομα имя": ("surname", "given"),
    "nom": ("given", "surname"),
}
"""Words for a name which, beside a column for the first field, mean the second: nombre beside apellidos."""

HELD: Final = ("name", "given", "surname")
"""The fields that hold someone's name."""


def _key(heading: str) -> str:
    """A heading without case, accents, spaces and punctuation; empty if nothing is left."""
    flat = unicodedata.normalize("NFKD", heading.casefold().replace("ı", "i"))
    return "".join(char for char in flat if char.isalnum())


def _table(words: Mapping[str, str]) -> dict[str, str]:
    return {_key(word): field for field, line in words.items() for word in line.split()}


_FIELD_OF: Final = _table(SYNONYMS)
_EITHER_OF: Final = {_key(word): rule for line, rule in _EITHER.items() for word in line.split()}


@dataclass(frozen=True, slots=True)
class Columns:
    """Which column holds which field.

    Attributes:
        fields: number of the column by field name, in the order of the columns; every column is in it.
        matched: heading by field name, only for fields matched by a synonym or named by the user.
        headings: heading by field name, for every column.
    """

    fields: Mapping[str, int]
    matched: Mapping[str, str]
    headings: Mapping[str, str]

    @property
    def named(self) -> tuple[str, ...]:
        """The fields, of those that hold a name, that are lettered from."""
        return ("name",) if "name" in self.matched else tuple(f for f in HELD if f in self.matched)


def names_someone(headings: Iterable[str]) -> bool:
    """Whether one of the headings is a known word for a name."""
    keys = {_key(heading) for heading in headings}
    return any(_FIELD_OF.get(key) in HELD or key in _EITHER_OF for key in keys)


def match_columns(headings: tuple[str, ...], wanted: Mapping[str, str], place: str) -> Columns:
    """Match headings to fields; every other column becomes a field named after its heading.

    Args:
        headings: the table's headings.
        wanted: heading by field name, as the user decided; these beat the synonyms.
        place: the file, for messages.

    Raises:
        TableError: `wanted` names no heading or no possible field; two headings match one field; none has
        names.
    """
    chosen = {field: _find(field, heading, headings, place) for field, heading in wanted.items()}
    found = dict(chosen)
    matches: dict[str, list[int]] = {}
    for field, number in _known(headings, set(chosen.values())):
        matches.setdefault(field, []).append(number)
    for field, numbers in matches.items():
        if field in chosen:
            continue
        if len(numbers) > 1:
            raise _ambiguous(field, [headings[number] for number in numbers], place)
        found[field] = numbers[0]
    _refuse_half_names(found, chosen, headings, place)
    matched = {field: headings[number] for field, number in sorted(found.items(), key=lambda item: item[1])}
    fields = _all_fields(found, headings)
    return Columns(fields, matched, {field: headings[number] for field, number in fields.items()})


def _known(headings: tuple[str, ...], taken: set[int]) -> list[tuple[str, int]]:
    """The (field, column) pairs that synonyms tell; words of two meanings look at their neighbours."""
    free = [(number, _key(heading)) for number, heading in enumerate(headings) if number not in taken]
    sure = [(_FIELD_OF[key], number) for number, key in free if key in _FIELD_OF]
    fields = {field for field, _ in sure}
    for number, key in free:
        if key in _EITHER_OF:
            beside, meaning = _EITHER_OF[key]
            sure.append((meaning if beside in fields else "name", number))
    return sure


def _find(field: str, heading: str, headings: tuple[str, ...], place: str) -> int:
    if not field.isidentifier():
        raise TableError(
            f"{field!r} cannot be the name of a field.",
            hint=f'Use letters, digits and _, such as --column name="{headings[0]}".',
            place=place,
        )
    if heading in headings:
        return headings.index(heading)
    near = [number for number, own in enumerate(headings) if _key(own) == _key(heading) and _key(own)]
    if len(near) != 1:
        listed = ", ".join(headings)
        raise TableError(
            f"There is no column with the heading {heading!r}.",
            hint=f'The headings are: {listed}. Type --column {field}="{headings[0]}" or another.',
            place=place,
        )
    return near[0]


def _ambiguous(field: str, found: list[str], place: str) -> TableError:
    return TableError(
        f"More than one column may hold the {field}: {', '.join(found)}.",
        hint="Say which one: " + " or ".join(f'--column {field}="{heading}"' for heading in found) + ".",
        place=place,
    )


def _refuse_half_names(
    found: Mapping[str, int], chosen: Mapping[str, int], headings: tuple[str, ...], place: str
) -> None:
    """Ask where it is not certain which columns make up a whole name."""
    halves = [field for field in ("given", "surname") if field in found]
    if "name" in found:
        if "name" not in chosen and len(halves) == 1:
            other = "surname" if halves == ["given"] else "given"
            heading, half = headings[found["name"]], headings[found[halves[0]]]
            raise TableError(
                f"Beside {half!r}, the column {heading!r} may hold the whole name or only the {other} name.",
                hint=f'Say which: --column name="{heading}" or --column {other}="{heading}".',
                place=place,
            )
        return
    if len(halves) == 2:
        return
    example = headings[found[halves[0]]] if halves else headings[0]
    what = (
        f"Only the {halves[0]} name has a column ({example!r})"
        if halves
        else "No column is known to hold the names"
    )
    raise TableError(
        f"{what}; the headings are: {', '.join(headings)}.",
        hint=f'Say which column holds the names, such as --column name="{example}". '
        "If the first line of the file is not headings, put a line of headings on top.",
        place=place,
    )


def _all_fields(found: Mapping[str, int], headings: tuple[str, ...]) -> dict[str, int]:
    """Every column under a field name: the matched ones, then the others under a slug of their heading."""
    fields = dict(found)
    reserved = set(SYNONYMS) | set(found)
    for number, heading in enumerate(headings):
        if number in found.values():
            continue
        base = name = slug(heading, number)
        copy = 2
        while name in reserved:
            name, copy = f"{base}_{copy}", copy + 1
        reserved.add(name)
        fields[name] = number
    return dict(sorted(fields.items(), key=lambda item: item[1]))


def slug(heading: str, number: int) -> str:
    """A field name for a heading, usable in templates: ``Shirt size`` becomes ``shirt_size``."""
    flat = unicodedata.normalize("NFKD", heading.casefold())
    flat = unicodedata.normalize(
        "NFKC", "".join(c for c in flat if unicodedata.category(c) != "Mn" or ord(c) > 0x36F)
    )
    name = re.sub(r"\W+", "_", flat).strip("_")
    if not name:
        return f"column_{number + 1}"
    return name if name.isidentifier() else re.sub(r"\W", "_", f"column_{name}")
