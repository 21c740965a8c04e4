"""What may stand in a template's expression, held against its syntax tree."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final

from render.design.filters import FILTER_VALUES
from render.design.refusal import Refusal, short, suggest

if TYPE_CHECKING:
    from jinja2 import nodes

TESTS: Final = ("defined", "undefined")

_NODES: Final = frozenset(
    {
        "And", "Compare", "Concat", "CondExpr", "Const", "Filter", "Name", "Not", "Operand", "Or", "Output",
        "Template", "TemplateData", "Test",
    }
)  # fmt: skip
_RESERVED: Final = frozenset({"self", "super", "loop", "caller", "varargs", "kwargs"})

_WHY: Final = {
    "Getattr": "reaches into a value",
    "Getitem": "reaches into a value",
    "Call": "calls something",
}


def check(node: Any) -> None:
    """Hold a parsed expression against the lists of what may stand in it.

    Raises:
        Refusal: something else stands in it.
    """
    kind = type(node).__name__
    if kind not in _NODES:
        why = _WHY.get(kind, f"uses {kind.lower()}")
        hint = "A text may hold fields, filters, ==, !=, and, or, not, ~ and if-else; nothing else."
        raise Refusal(f"its expression {why}, which templates may not", hint)
    if kind in _DETAILS:
        _DETAILS[kind](node)
    for child in node.iter_child_nodes():
        check(child)


def _check_name(node: nodes.Name) -> None:
    if node.name in _RESERVED or node.name.startswith("_"):
        raise Refusal(f"{node.name} is not a field", "Fields are the table's columns, such as name.")


def _check_filter(node: nodes.Filter) -> None:
    if node.name not in FILTER_VALUES:
        raise Refusal(f"there is no filter {short(node.name)}", suggest(node.name, FILTER_VALUES))
    count = FILTER_VALUES[node.name]
    if len(node.args) != count or node.kwargs or node.dyn_args or node.dyn_kwargs:
        hint = f"It takes {count or 'no'} value{'' if count == 1 else 's'} in brackets."
        raise Refusal(f"the filter {node.name} is given the wrong values", hint)


def _check_test(node: nodes.Test) -> None:
    if node.name not in TESTS or node.args or node.kwargs:
        raise Refusal(f"there is no test {short(node.name)}", suggest(node.name, TESTS))


def _check_constant(node: nodes.Const) -> None:
    if not isinstance(node.value, str):
        hint = "Fields are text: put the value in quotes, such as table == '5'."
        raise Refusal(f"its expression holds {node.value!r}, which is not text", hint)


def _check_operand(node: nodes.Operand) -> None:
    if node.op not in ("eq", "ne"):
        raise Refusal("its expression compares otherwise than by == or !=", "Fields are text, not numbers.")


_DETAILS: Final[Mapping[str, Callable[[Any], None]]] = {
    "Name": _check_name,
    "Filter": _check_filter,
    "Test": _check_test,
    "Const": _check_constant,
    "Operand": _check_operand,
}
