"""Writes or checks the committed values of other programs (numpy, scipy, iapws)."""

import sys
from pathlib import Path

import distributions
import lines
import tables
import water

VALUES = Path(__file__).parent / "values"
TABLES = [*lines.tables(), *water.tables(), *distributions.tables()]


def write():
    """Replaces every committed table."""
    VALUES.mkdir(exist_ok=True)
    for table in TABLES:
        (VALUES / table.name).write_text(table.text(), encoding="utf-8")
        print(f"wrote {table.name}: {len(table.rows)} rows")


def check():
    """Says what differs, and returns how many differences there are."""
    committed = {path.name for path in VALUES.iterdir()}
    computed = {table.name for table in TABLES}
    complaints = [f"{name} is not computed by anything" for name in sorted(committed - computed)]
    complaints += [f"{name} is missing" for name in sorted(computed - committed)]
    for table in TABLES:
        if table.name in committed:
            text = (VALUES / table.name).read_text(encoding="utf-8")
            complaints += tables.differences(table, text)
    for complaint in complaints:
        print(f"values/{complaint}", file=sys.stderr)
    return len(complaints)


if sys.argv[1:] == ["--write"]:
    write()
elif sys.argv[1:]:
    sys.exit("usage: tests/oracles/run [--write]")
elif check():
    sys.exit("the committed values are not what the programs compute: look why, then `tests/oracles/run --write`")
else:
    print(f"{len(TABLES)} tables, {sum(len(table.rows) for table in TABLES)} rows: as committed")
