"""The table that the drawings show: parts, places, pins and figures of the project's own constants."""

import sys


class Table:
    """What `cargo run -p rillmark-pico --example circuit_table` prints."""

    def __init__(self, lines):
        self.parts, self.places, self.pins, self.facts, self.steps = {}, {}, {}, {}, []
        self.contacts = {}
        for line in lines:
            kind, *fields = line.rstrip("\n").split("\t")
            if kind == "part":
                self.parts[fields[0]] = fields[1:]
            elif kind == "place":
                self.places[fields[0]] = fields[1]
            elif kind == "pin":
                self.pins[fields[1]] = fields[0]
            elif kind == "contact":
                self.contacts.setdefault((fields[0], fields[2]), []).append(int(fields[1]))
            elif kind == "fact":
                self.facts[fields[0]] = fields[1]
            elif kind == "step":
                self.steps.append([int(field) for field in fields])
            else:
                sys.exit(f"the table has a line of unknown kind: {line}")
        self.drawn = set()

    def value(self, designator):
        """The value of a part as it is written, and a note that the part was drawn."""
        self.drawn.add(designator)
        return self.parts[designator][0]

    def place(self, designator):
        """The name of a place, and a note that it was drawn."""
        if designator not in self.places:
            sys.exit(f"{designator} is drawn and stands in no table")
        self.drawn.add(designator)
        return designator

    def numbers(self, designator, name):
        """The numbers of the pins of this name at a part."""
        if (designator, name) not in self.contacts:
            sys.exit(f"{designator} has no pin {name} in the table")
        return self.contacts[designator, name]

    def undrawn(self):
        """What no drawing shows."""
        return sorted((set(self.parts) | set(self.places)) - self.drawn)
