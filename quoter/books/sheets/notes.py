"""What the note on a header cell says of its column."""

from quoter.books.sheets.cell_text import rule, takes_numbers
from quoter.books.tables import REQUIRED, Column


def note(column: Column) -> str:
    """What the column is for, what its cells may hold, whether they may be blank, and what they refer to."""
    sentences = [f"{column.help[:1].upper()}{column.help[1:]}.", rule(column.reads), _blank(column)]
    if column.refers:
        sentences.append(f"Refers to the sheet {column.refers}.")
    return "\n".join(filter(None, sentences))


def _blank(column: Column) -> str:
    if column.blank is REQUIRED:
        return "Must not be blank."
    if takes_numbers(column.reads) and column.blank is not None:
        return f"May be blank: then it is {column.blank}."
    return "May be blank."
