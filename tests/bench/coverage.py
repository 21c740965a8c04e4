"""Which shipped fonts letter the names of which locales: 500 names of each, from PyPI `Faker`, seeded.

Prints the README's table, Markdown. Only fonts that claim a name's scripts are asked; a name counts as
lettered if nothing of it is missing after shaping.
"""

from __future__ import annotations

from collections import defaultdict

from faker import Faker

from render.lettering import Letterer, Shelf
from render.lettering.scripts import stretches
from render.model import Setting
from render.resources import folder

NAMES = 500

GROUPS = {
    "western Latin": "en_US fr_FR de_DE nl_NL da_DK sv_SE no_NO fi_FI is_IS es_ES pt_PT it_IT ga_IE id_ID",
    "eastern Latin": "pl_PL cs_CZ sk_SK hu_HU sl_SI hr_HR et_EE lv_LV lt_LT ro_RO",
    "Turkic Latin": "tr_TR az_AZ uz_UZ",
    "African Latin": "yo_NG ha_NG zu_ZA",
    "Vietnamese": "vi_VN",
    "Cyrillic": "ru_RU bg_BG uk_UA mk_MK",
    "Greek": "el_GR",
    "Armenian": "hy_AM",
    "Georgian": "ka_GE",
    "Hebrew": "he_IL",
    "Arabic and Persian": "ar_SA fa_IR",
    "Devanagari": "hi_IN ne_NP",
    "Bengali": "bn_BD",
    "Tamil": "ta_IN",
    "Thai": "th_TH",
}


def names_of(locale: str) -> list[str]:
    """As many different names as the locale yields, at most NAMES."""
    faker = Faker(locale)
    faker.seed_instance(20)
    found: dict[str, None] = {}
    for _ in range(NAMES * 4):
        found[f"{faker.first_name()} {faker.last_name()}"] = None
        if len(found) == NAMES:
            break
    return list(found)


def lettered(names: list[str], shelf: Shelf, letterer: Letterer) -> dict[str, list[str]]:
    """For each font that claims the scripts of any of the names the letters that it lacks of them."""
    lacking: dict[str, list[str]] = {}
    for name in names:
        scripts = {part.script for part in stretches(name)}
        for font in shelf.ids():
            if scripts <= set(shelf.entry(font).scripts):
                lacking.setdefault(font, []).extend(letterer.line(name, Setting(font)).missing)
    return lacking


def main() -> None:
    """Print the table."""
    shelf = Shelf((folder("fonts_open"),))
    letterer = Letterer(shelf)
    print("| names | locales | tried | fonts that letter every one | fonts with gaps |")
    print("| --- | --- | --- | --- | --- |")
    locales_in_all = tried_in_all = orphans = 0
    for group, words in GROUPS.items():
        tried, lacking = 0, defaultdict[str, set[str]](set)
        for locale in words.split():
            names = names_of(locale)
            tried += len(names)
            orphans += sum(not shelf.fonts_with(name) for name in names)
            for font, letters in lettered(names, shelf, letterer).items():
                lacking[font].update(letters)
        whole = [font for font, letters in lacking.items() if not letters]
        gaps = [f"{font} ({''.join(sorted(letters))})" for font, letters in lacking.items() if letters]
        named = ", ".join(whole) if len(whole) <= 5 else str(len(whole))
        print(f"| {group} | {len(words.split())} | {tried:,} | {named} | {', '.join(gaps)} |")
        locales_in_all += len(words.split())
        tried_in_all += tried
    print(f"\n{tried_in_all:,} names of {locales_in_all} locales; no font has all letters of {orphans}.")


if __name__ == "__main__":
    main()
