"""A table of values as CSV: text and numbers, no quotes."""

import math
from dataclasses import dataclass

# Below this a number is rounding about zero: no value here is small and meant.
ABSOLUTE = 1e-300


@dataclass
class Table:
    """One file: its name, its columns, its rows of text, numbers or nothing."""

    name: str
    columns: list
    rows: list
    # How far a number may be from the committed one: another processor or another build of the same
    # library may differ in the last digits.
    relative: float = 1e-12

    def text(self):
        lines = [",".join(self.columns)]
        lines += [",".join(cell(value) for value in row) for row in self.rows]
        return "\n".join(lines) + "\n"


def cell(value):
    if value is None:
        return ""
    if isinstance(value, (str, int)):
        return str(value)
    return repr(float(value))


def differences(table, text):
    """What a committed text has otherwise than the computed table, a sentence each."""
    lines = text.splitlines()
    expected = table.text().splitlines()
    if lines[:1] != expected[:1]:
        return [f"{table.name}: other columns"]
    if len(lines) != len(expected):
        return [f"{table.name}: {len(lines)} lines instead of {len(expected)}"]
    found = []
    for number, (line, right) in enumerate(zip(lines, expected), start=1):
        cells, rights = line.split(","), right.split(",")
        same = [alike(*pair, table.relative) for pair in zip(cells, rights)]
        if len(cells) != len(rights) or not all(same):
            found.append(f"{table.name}, line {number}: `{line}` instead of `{right}`")
    return found


def alike(committed, computed, relative):
    if committed == computed:
        return True
    try:
        a, b = float(committed), float(computed)
    except ValueError:
        return False
    return math.isclose(a, b, rel_tol=relative, abs_tol=ABSOLUTE)
