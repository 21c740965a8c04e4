"""Which letters make up a monogram, and in which order: one rule for each customary form."""

from __future__ import annotations

from collections.abc import Sequence

from render.lettering.initials import first_letter, initials
from render.lettering.people import Person


def by_name(people: Sequence[Person], language: str) -> tuple[str, ...]:
    """The initials in name order: given names, then surname, as the language has it (CLDR)."""
    return initials(people[0], language) if len(people) == 1 else _of_both(people, language)


def first_only(people: Sequence[Person], language: str) -> tuple[str, ...]:
    """The initial of the given name (common practice); of two people that of the shared surname."""
    tag = _tag(language)
    who = people[0]
    text = (who.core or who.given) if len(people) > 1 else (who.given or who.core)
    return _only(first_letter(text, tag))


def given_and_surname(people: Sequence[Person], language: str) -> tuple[str, ...]:
    """Given name, then surname (CLDR, informal); of two people both given names, as they are named."""
    if len(people) > 1:
        return _only(*(first_letter(person.given, _tag(language)) for person in people))
    return initials(people[0], language, formal=False)[:2]


def surname_in_the_middle(people: Sequence[Person], language: str) -> tuple[str, ...]:
    """Given name, surname, second given name: G S G. Common practice, no source; CLDR does not know it."""
    tag = _tag(language)
    if len(people) > 1:
        return couples(people, language)
    who = people[0]
    return _only(
        first_letter(who.given, tag), first_letter(who.prefix or who.core, tag), first_letter(who.given2, tag)
    )


def couples(people: Sequence[Person], language: str) -> tuple[str, ...]:
    """Both given names round the shared surname, in the order in which they are named. Common practice."""
    tag = _tag(language)
    if len(people) < 2:
        return surname_in_the_middle(people, language)
    one, two = people[:2]
    return _only(
        first_letter(one.given, tag), first_letter(two.prefix or two.core, tag), first_letter(two.given, tag)
    )


def _of_both(people: Sequence[Person], language: str) -> tuple[str, ...]:
    """Two people: the initials of one, then those of the other (common practice)."""
    return tuple(letter for person in people[:2] for letter in initials(person, language, formal=False)[:2])


def four(people: Sequence[Person], language: str) -> tuple[str, ...]:
    """Four letters, read in two rows: two people, a row each; or given, given, particle and surname.

    Common practice, no source.
    """
    if len(people) > 1:
        return _of_both(people, language)
    tag, who = _tag(language), people[0]
    words = [*who.given.split(), *who.given2.split()]
    tail = [who.prefix, who.core] if who.prefix else [who.core, who.surname2] if who.surname2 else [who.core]
    head = words[: 4 - len(tail)]
    return _only(*(first_letter(word, tag) for word in (*head, *tail)))


def surname_first_only(people: Sequence[Person], language: str) -> tuple[str, ...]:
    """The initial of the surname, failing that of the given name."""
    who = people[-1]
    return _only(first_letter(who.core or who.given, _tag(language)))


def _tag(language: str) -> str:
    return language.partition("-")[0].lower()


def _only(*letters: str) -> tuple[str, ...]:
    return tuple(letter for letter in letters if letter)
