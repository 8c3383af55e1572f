"""One drawing: wires, symbols and words at the places that it is given, in units of 36 px."""

import re

import schemdraw
import schemdraw.elements as elm
from schemdraw.backends.svgtext import text_approx_size
from schemdraw.segments import Segment, SegmentCircle, SegmentPoly, SegmentText

from conductors import Conductors

schemdraw.use("svg")
schemdraw.svgconfig.text = "text"

FONT = "DejaVu Sans, Verdana, Arial, sans-serif"
SIZE = 10
SMALL = 8.5
LINE = 1.3
UNIT = 36


def rounded(attribute):
    """The attribute with its numbers as short as they are the same everywhere."""
    short = lambda number: f"{float(number[0]):.2f}".rstrip("0").rstrip(".")
    return re.sub(r"(?<![\d.])-0(?![\d.])", "0", re.sub(r"-?\d+\.\d+", short, attribute))


class Drawn(elm.Element):
    """Segments in the sheet's own coordinates."""

    def __init__(self, *segments):
        super().__init__()
        self.segments.extend(segments)


class Sheet:
    """A drawing in the making."""

    def __init__(self, table):
        self.table = table
        self.drawing = schemdraw.Drawing(show=False)
        self.drawing.config(fontsize=SIZE, font=FONT, lw=LINE, bgcolor="white", margin=0.3)
        self.texts, self.lines = [], []
        self.conductors = Conductors()

    # Lines.

    def wire(self, *points, width=LINE, style="-", arrow=None):
        """A line through these points. It conducts, unless it is broken or an arrow."""
        if style == "-" and arrow is None:
            for start, end in zip(points, points[1:]):
                self.conductors.line(start, end)
        self.stroke(*points, width=width, style=style, arrow=arrow)

    def stroke(self, *points, width=LINE, style="-", arrow=None):
        """A line of a symbol: it joins nothing."""
        self.lines += list(zip(points, points[1:]))
        self.add(Segment(list(points), lw=width, ls=style, arrow=arrow))

    def dashed(self, *points):
        """A broken line, such as a guard's or a shield's."""
        self.wire(*points, style="--", width=1.1)

    def dot(self, *points):
        """Where lines are connected."""
        for point in points:
            self.conductors.dot(point)
            self.add(SegmentCircle(point, 0.075, fill="black", lw=LINE))

    def terminal(self, point, socket, contact, line_from):
        """A contact of a socket, and where the line to it ends."""
        self.contact(line_from, socket, contact)
        self.add(SegmentCircle(point, 0.11, fill="white", lw=LINE, zorder=4))

    def ground(self, point):
        """The symbol of ground, hanging from a point."""
        x, y = point
        self.conductors.name(point, "GND")
        self.stroke((x, y), (x, y - 0.25))
        for step, half in enumerate([0.28, 0.18, 0.08]):
            level = y - 0.25 - 0.1 * step
            self.add(Segment([(x - half, level), (x + half, level)], lw=LINE))

    def rail(self, point, name):
        """The symbol of a supply, standing on a point."""
        x, y = point
        self.conductors.name(point, name)
        self.stroke((x, y), (x, y + 0.3))
        self.add(Segment([(x - 0.25, y + 0.3), (x + 0.25, y + 0.3)], lw=1.8))
        self.words((x, y + 0.5), name, "center", size=SMALL)

    def net(self, point, name, side="right"):
        """The name of a net that goes on in this or another drawing, at the end of its line."""
        x, y = point
        self.conductors.name(point, name)
        sign = 1 if side == "right" else -1
        width = self._width(name, SMALL) + 0.25
        tip = 0.14
        self.add(SegmentPoly(
            [(x, y), (x + sign * tip, y + 0.2), (x + sign * (width + tip), y + 0.2),
             (x + sign * (width + tip), y - 0.2), (x + sign * tip, y - 0.2)],
            lw=1, fill="white"))
        near, far = x + sign * tip, x + sign * (width + tip)
        self.lines += [((near, y + up), (far, y + up)) for up in (-0.2, 0.2)] + [((far, y - 0.2), (far, y + 0.2))]
        centre = x + sign * (tip + width / 2)
        self.words((centre, y), name, "center", size=SMALL)

    # Words.

    def words(self, point, text, align="left", size=SIZE):
        """One or more lines of text, their middle at the point's height."""
        rows = text.split("\n")
        step = size / UNIT * 1.28
        for at, row in enumerate(rows):
            y = point[1] + (len(rows) - 1) * step / 2 - at * step
            # Viewers agree on where a baseline is, not on where a text's middle is.
            base = (point[0], y - 0.36 * size / UNIT)
            self.add(SegmentText(base, row, align=(align, "base"), fontsize=size, font=FONT))
            width = self._width(row, size)
            left = {"left": point[0], "center": point[0] - width / 2, "right": point[0] - width}[align]
            half = size / UNIT / 2 * 0.8
            self.texts.append((left, y - half, left + width, y + half, row))

    def title(self, point, text):
        """The heading of a part of the drawing."""
        self.words(point, text, "left", size=SIZE + 1)

    # Symbols.

    def part(self, designator, start, end, side="right"):
        """A resistor or capacitor of the table between two points, named with its value."""
        kind = elm.Resistor if designator.startswith("R") else elm.Capacitor
        self.drawing.add(kind(lw=LINE).at(start).to(end))
        self.lines.append((start, end))
        value = self.table.value(designator)
        # Left or upper end first.
        for number, point in enumerate(sorted([start, end], key=lambda point: (point[0], -point[1])), 1):
            self.conductors.pin(point, designator, number)
        x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        if start[0] == end[0]:
            self.lines += [((x + side_of, y - 0.4), (x + side_of, y + 0.4)) for side_of in (-0.25, 0.25)]
        else:
            self.lines += [((x - 0.4, y + side_of), (x + 0.4, y + side_of)) for side_of in (-0.25, 0.25)]
        if start[0] == end[0]:
            align = "left" if side == "right" else "right"
            away = 0.38 if side == "right" else -0.38
            self.words((x + away, y), f"{designator}\n{value}", align)
        else:
            above = 0.68 if side in ("right", "above") else -0.68
            self.words((x, y + above), f"{designator}\n{value}", "center")

    def amplifier(self, name, output):
        """An operational amplifier with its output at this point. Returns its inputs: plus, minus."""
        x, y = output
        left = x - 1.9
        self.add(SegmentPoly([(left, y + 1.05), (left, y - 1.05), (x, y)], lw=LINE, fill="white"))
        self.words((left + 0.16, y + 0.5), "+")
        self.words((left + 0.16, y - 0.5), "−")
        self.words((left + 0.45, y), name, size=SMALL)
        self.table.place(name[:2])
        plus, minus = (left, y + 0.5), (left, y - 0.5)
        half = name[2]
        self.numbered(plus, (-0.18, 0.2), name[:2], f"+{half}")
        self.numbered(minus, (-0.18, 0.2), name[:2], f"-{half}")
        self.numbered(output, (0.15, 0.2), name[:2], f"OUT{half}")
        return plus, minus

    def box(self, corner, size, text="", style="-", small=False):
        """A box with words in its middle."""
        (x, y), (width, height) = corner, size
        corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
        is_solid = style == "-"
        self.add(SegmentPoly(corners, lw=LINE if is_solid else 1.1, ls=style, fill="white" if is_solid else None,
                             joinstyle="miter", zorder=1))
        if text:
            self.words((x + width / 2, y + height / 2), text, "center", size=SMALL if small else SIZE)

    def chip(self, designator, corner, size, left=(), right=(), text=""):
        """A chip as a box. A pin is (height above the corner, its name or names); returns the ends of its pins
        by name."""
        (x, y), (width, height) = corner, size
        self.table.place(designator)
        self.box(corner, size)
        self.words((x + width / 2, y + height + 0.28), f"{designator}{text}", "center")
        ends = {}
        for pins, edge, sign in [(left, x, -1), (right, x + width, 1)]:
            for level, name in pins:
                self.stroke((edge, y + level), (edge + sign * 0.5, y + level))
                self.words((edge - sign * 0.14, y + level), name, "left" if sign < 0 else "right", size=SMALL)
                ends[name] = (edge + sign * 0.5, y + level)
                self.numbered(ends[name], (-sign * 0.25, 0.18), designator, name)
        return ends

    def contact(self, point, part, names):
        """Notes that pins stand at a point. Returns their numbers."""
        numbers = [number for name in names.split(", ") for number in self.table.numbers(part, name)]
        for number in numbers:
            self.conductors.pin(point, part, number)
        return numbers

    def told(self, part, name, net):
        """Notes what words alone tell: that a pin is on a net. Returns its number."""
        [number] = self.table.numbers(part, name)
        self.conductors.told(part, number, net)
        return number

    def numbered(self, point, away, part, names):
        """The same, with the numbers beside it."""
        numbers = self.contact(point, part, names)
        is_row = numbers == list(range(numbers[0], numbers[-1] + 1))
        text = str(numbers[0]) if len(numbers) == 1 else f"{numbers[0]}–{numbers[-1]}" if is_row else f"{numbers[0]} …"
        self.words((point[0] + away[0], point[1] + away[1]), text, "center", size=7)

    def clamp(self, designator, point, side="right"):
        """Two diodes between a line at this point, the supply above and ground below."""
        x, y = point
        self.dot(point)
        self.contact(point, designator, "middle")
        self.contact((x, y - 1.1), designator, "anode")
        self.contact((x, y + 0.9), designator, "cathode")
        for low in (y - 1.0, y + 0.2):
            # From anode up to cathode.
            self.add(SegmentPoly([(x - 0.2, low + 0.2), (x + 0.2, low + 0.2), (x, low + 0.6)], lw=LINE, fill="white"))
            self.stroke((x - 0.2, low + 0.6), (x + 0.2, low + 0.6))
        self.stroke((x, y - 1.1), (x, y - 0.8))
        self.stroke((x, y - 0.4), (x, y + 0.4))
        self.stroke((x, y + 0.8), (x, y + 0.9))
        self.ground((x, y - 1.1))
        self.rail((x, y + 0.9), "3V3F")
        away, align = (0.35, "left") if side == "right" else (-0.35, "right")
        self.words((x + away, y + 0.6), self.table.place(designator), align)

    def transistor(self, designator, source):
        """A P-channel transistor, its source at this point and its drain to the right. Returns drain, gate."""
        x, y = source
        self.stroke((x, y), (x + 0.45, y), (x + 0.45, y - 0.25))
        self.add(Segment([(x + 0.45, y - 0.1), (x + 0.45, y - 0.55)], lw=LINE, arrow="->"))
        self.stroke((x + 1.35, y - 0.55), (x + 1.35, y), (x + 1.8, y))
        self.add(Segment([(x + 0.25, y - 0.55), (x + 1.55, y - 0.55)], lw=2))
        self.add(Segment([(x + 0.25, y - 0.75), (x + 1.55, y - 0.75)], lw=LINE))
        self.stroke((x + 0.9, y - 0.75), (x + 0.9, y - 1.3))
        self.words((x + 0.25, y + 0.2), "S", "center", size=7)
        self.words((x + 1.6, y + 0.2), "D", "center", size=7)
        self.words((x + 0.72, y - 1.1), "G", "center", size=7)
        self.words((x + 0.9, y + 0.55), self.table.place(designator), "center")
        drain, gate = (x + 1.8, y), (x + 0.9, y - 1.3)
        for name, end in [("source", source), ("drain", drain), ("gate", gate)]:
            self.contact(end, designator, name)
        return drain, gate

    # The result.

    def svg(self, title):
        """The drawing as text, one element a line."""
        text = self.drawing.get_imagedata("svg").decode("utf-8")
        text = text.replace("stroke-dasharray:-;", "")
        text = re.sub(r'="[^"]*"', lambda attribute: rounded(attribute[0]), text)
        text = re.sub(r"><(?!tspan|/text)", ">\n<", text)
        head, body = text.split(">", 1)
        # The library's own bounds know little of texts.
        x, y, width, height = map(float, re.search(r'viewBox="([^"]*)"', head)[1].split())
        left = min([x] + [UNIT * text[0] - 8 for text in self.texts])
        right = max([x + width] + [UNIT * text[2] + 8 for text in self.texts])
        x, y, width, height = (f"{number:.0f}" for number in (left, y, right - left, height))
        head = re.sub(r'height="[^"]*" width="[^"]*" viewBox="[^"]*"',
                      f'width="{width}" height="{height}" viewBox="{x} {y} {width} {height}"', head)
        paper = f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="white" />'
        return f"{head}>\n<title>{title}</title>\n{paper}{body}\n"

    def crowded(self):
        """Texts that lie on one another or on an upright or level line."""
        found = []
        for at, (left, low, right, high, text) in enumerate(self.texts):
            def is_on(x0, y0, x1, y1):
                return x0 < right and left < x1 and y0 < high and low < y1

            found += [f"'{text}' lies on '{other[4]}'" for other in self.texts[at + 1:] if is_on(*other[:4])]
            for (ax, ay), (bx, by) in self.lines:
                if ax == bx or ay == by:
                    # A line has a width.
                    if is_on(min(ax, bx) - 0.01, min(ay, by) - 0.01, max(ax, bx) + 0.01, max(ay, by) + 0.01):
                        found.append(f"'{text}' lies on the line from {(ax, ay)} to {(bx, by)}")
        return found

    def _width(self, text, size):
        # Of the fonts that a viewer may take, the widest is this much wider than the library thinks.
        return 1.17 * text_approx_size(text, font="sans", size=size)[0] / UNIT

    def add(self, *segments):
        """Segments in the sheet's own coordinates."""
        self.drawing.add(Drawn(*segments).at((0, 0)).theta(0))
