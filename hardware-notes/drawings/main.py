"""Draws every sheet from the table on standard input, and compares it with the committed one or, told to,
replaces it."""

import sys
from pathlib import Path

import block_diagram
import cables
import conductivity_drive
import converter_and_clock
import guard_layout
import isolation
import ph_input
import pico_wiring
import supply
import taps_and_hold
import temperature
import waveform
from sheet import Sheet
from table import Table

HERE = Path(__file__).parent
SHEETS = [
    (block_diagram, "Block diagram"),
    (supply, "Sensor power, mid, supply pins"),
    (ph_input, "pH input"),
    (guard_layout, "The guard on the board"),
    (conductivity_drive, "Conductivity: drive, ranges, cell, return"),
    (taps_and_hold, "Taps, gates and holds"),
    (waveform, "Drive and gates in time"),
    (temperature, "Thermometer"),
    (converter_and_clock, "Converter and clock chip"),
    (pico_wiring, "The Pico's pins"),
    (isolation, "Ground loop and ways out of it"),
    (cables, "Sockets and cables"),
]

# Those whose lines are conductors, every one of them.
CIRCUITS = [supply, ph_input, conductivity_drive, taps_and_hold, temperature, converter_and_clock, pico_wiring]


def drawn(table):
    """Every drawing by its file's name, what they join, and what is wrong with them. A test holds the file of
    connections, drawing, names and pins a line, against the table of nets."""
    drawings, connections, complaints = {}, [], []
    for module, title in SHEETS:
        name = f"{module.__name__.replace('_', '-')}.svg"
        sheet = Sheet(table)
        module.draw(sheet)
        complaints += [f"{name}: {what}" for what in sheet.crowded()]
        drawings[name] = sheet.svg(title)
        if module in CIRCUITS:
            groups, unclear = sheet.conductors.groups()
            complaints += [f"{name}: {what}" for what in unclear]
            connections += ["\t".join([name, " ".join(names), " ".join(pins)]) for names, pins in groups]
    complaints += [f"{designator} stands in no drawing" for designator in table.undrawn()]
    drawings["connections.txt"] = "\n".join(connections) + "\n"
    return drawings, complaints


def stale(drawings):
    """What differs from the committed files."""
    committed = {path.name for pattern in ("*.svg", "*.txt") for path in HERE.glob(pattern)} - {"requirements.txt"}
    yield from (f"{name} is drawn by nothing" for name in sorted(committed - set(drawings)))
    for name, text in drawings.items():
        if name not in committed:
            yield f"{name} is missing"
        elif (HERE / name).read_text(encoding="utf-8") != text:
            yield f"{name} is not what is drawn now"


def main(is_writing):
    """Draws, and writes or checks."""
    drawings, complaints = drawn(Table(sys.stdin))
    if is_writing:
        for name, text in drawings.items():
            (HERE / name).write_text(text, encoding="utf-8")
    else:
        complaints += stale(drawings)
    for complaint in complaints:
        print(f"drawings: {complaint}", file=sys.stderr)
    if complaints:
        sys.exit("look at the drawings, then `RILLMARK_REGOLD=1 hardware-notes/drawings/run`")
    print(f"{len(SHEETS)} drawings: {'written' if is_writing else 'as committed'}")


if sys.argv[1:] not in ([], ["--write"]):
    sys.exit("usage: hardware-notes/drawings/run")
main(sys.argv[1:] == ["--write"])
