"""Tables in: reading, headings, cleaning and checking names, quantities.

A table of strangers' making becomes an order of pieces. Nothing is guessed where two answers are possible,
nothing is dropped without a word, and no name is changed unless that was asked for.
"""

from render.intake.orders import MOST_COPIES, IntakeOptions, take_order
from render.intake.reading import describe, read_table
from render.intake.several import SHEET_HEADING, read_sheets, take_orders
from render.intake.table import Row, Table

__all__ = [
    "MOST_COPIES",
    "SHEET_HEADING",
    "IntakeOptions",
    "Row",
    "Table",
    "describe",
    "read_sheets",
    "read_table",
    "take_order",
    "take_orders",
]
