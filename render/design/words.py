"""What a template's text says: Jinja2 expressions, of which only a small harmless part is allowed.

Beside Jinja2's sandbox the parsed expression is held against a list of what may stand in it: no statements,
no attributes, no calls, no arithmetic, no loops. What is left cannot run long, nor grow beyond a bound.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from render.design.allowed import TESTS, check
from render.design.filters import MOST_LETTERS, MissingFieldError, TooLongError, filters_for
from render.design.refusal import Refusal, short

if TYPE_CHECKING:
    from jinja2 import nodes
    from jinja2.sandbox import ImmutableSandboxedEnvironment

_EXPRESSION: Final = re.compile(r"\{[{%#]")


@lru_cache(maxsize=8)
def _environment(lenient: bool, language: str) -> ImmutableSandboxedEnvironment:
    """A sandbox without globals, with our filters only; `lenient` takes a missing field as empty."""
    from jinja2 import StrictUndefined, Undefined
    from jinja2.sandbox import ImmutableSandboxedEnvironment

    undefined = Undefined if lenient else StrictUndefined
    environment = ImmutableSandboxedEnvironment(
        undefined=undefined, autoescape=False, cache_size=0, keep_trailing_newline=False
    )
    environment.globals.clear()
    environment.filters.clear()
    environment.filters.update(filters_for(language))
    defined = {name: environment.tests[name] for name in TESTS}
    environment.tests.clear()
    environment.tests.update(defined)
    return environment


# ---------------------------------------------------------------- compiled texts


@dataclass(frozen=True, slots=True)
class Words:
    """A text of a template, compiled.

    Attributes:
        source: as written.
        names: the fields it uses, in order.
        needs: those of them that a piece must have.
    """

    source: str
    names: tuple[str, ...]
    needs: tuple[str, ...]
    _fill: Callable[[Mapping[str, str]], str]
    _again: tuple[Callable[..., Words], str, str]

    def __reduce__(self) -> tuple[Callable[..., Words], tuple[str, str]]:
        """Pickled as source, compiled again on the other side."""
        compile_again, source, language = self._again
        return compile_again, (source, language)

    def __call__(self, fields: Mapping[str, str]) -> str:
        """The text with the fields of one piece in place.

        Raises:
            MissingFieldError: a field it needs is not there.
            TooLongError: it grew beyond :data:`MOST_LETTERS`.
        """
        text = self._fill(fields)
        if len(text) > MOST_LETTERS:
            raise TooLongError
        return text


def compile_text(source: str, language: str = "") -> Words:
    """Compile the content of a text; `language` (BCP 47) guides upper, lower, title and initial.

    Raises:
        Refusal: it is too long, is not a valid expression, or does what templates may not.
    """
    source = " ".join(source.split())
    again = (compile_text, source, language)
    if len(source) > MOST_LETTERS:
        raise Refusal(f"its text is longer than {MOST_LETTERS} characters", "Shorten it.")
    if not _EXPRESSION.search(source):
        return Words(source, (), (), lambda _: source, again)
    environment = _environment(False, language.lower().partition("-")[0])
    tree = _parsed(environment, source, source)
    names, needs = _fields_of(tree)
    return Words(source, names, needs, _filler(environment, source, names), again)


def compile_condition(source: str, language: str = "") -> Words:
    """Compile the expression of ``mk:when``; the words are empty where it does not hold.

    A field that the piece does not have counts as empty here.

    Raises:
        Refusal: as for :func:`compile_text`, or it is not one single expression.
    """
    if len(source) > MOST_LETTERS:
        raise Refusal(f"mk:when is longer than {MOST_LETTERS} characters", "Shorten it.")
    environment = _environment(True, language.lower().partition("-")[0])
    tree = _parsed(environment, "{{ (" + source + ") }}", source)
    outputs = [child for output in tree.body for child in getattr(output, "nodes", ())]
    if len(outputs) != 1 or type(outputs[0]).__name__ == "TemplateData":
        hint = 'Write it without braces, such as mk:when="table".'
        raise Refusal(f"mk:when is {short(source)}, which is not one expression", hint)
    names, _ = _fields_of(tree)
    filler = _filler(environment, "{{ 'y' if (" + source + ") else '' }}", names)
    return Words(source, names, (), filler, (compile_condition, source, language))


def _filler(
    environment: ImmutableSandboxedEnvironment, source: str, names: tuple[str, ...]
) -> Callable[[Mapping[str, str]], str]:
    from jinja2 import UndefinedError

    try:
        template = environment.from_string(source)
    except (RecursionError, MemoryError, SyntaxError) as error:
        raise Refusal(f"{short(source)} is too deeply nested", "Write it more simply.") from error
    run, new_context = template.root_render_func, template.new_context

    def fill(fields: Mapping[str, str]) -> str:
        try:
            return "".join(run(new_context({name: fields[name] for name in names if name in fields})))
        except UndefinedError as error:
            raise MissingFieldError(tuple(name for name in names if name not in fields)) from error

    return fill


def _parsed(environment: ImmutableSandboxedEnvironment, source: str, shown: str) -> nodes.Template:
    """Parsed, and nothing in it but what is allowed."""
    from jinja2 import TemplateSyntaxError

    try:
        tree = environment.parse(source)
        check(tree)
    except TemplateSyntaxError as error:
        hint = "A field stands in double braces, such as {{ name }}."
        raise Refusal(f"{short(shown)} cannot be understood: {error.message}", hint) from error
    except (RecursionError, MemoryError) as error:
        raise Refusal(f"{short(shown)} is too deeply nested", "Write it more simply.") from error
    return tree


def _fields_of(tree: nodes.Template) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """All fields in order, and those of them that are nowhere given a ``default`` or asked after."""
    from jinja2 import nodes

    every = tuple(dict.fromkeys(node.name for node in tree.find_all(nodes.Name)))
    guards = (node for node in tree.find_all(nodes.Filter) if node.name == "default")
    guarded = [node.node for node in (*guards, *tree.find_all(nodes.Test))]
    excused = {node.name for node in guarded if isinstance(node, nodes.Name)}
    return every, tuple(name for name in every if name not in excused)
