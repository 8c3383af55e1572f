"""The guard as copper: the input's corner of the board, seen from the side of the chip."""

from schemdraw.segments import SegmentPoly


def draw(s):
    """Pads, tracks and the ring round them."""
    t = s.table

    def pad(x, y, width, height, fill="#bbbbbb"):
        corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
        s.add(SegmentPoly(corners, lw=1, fill=fill, zorder=3))

    def ring(*points):
        s.wire(*points, width=5)

    # Chip: pins 1 to 4 at the left, 5 to 8 at the right.
    s.box((12.0, 0), (3.4, 5.6))
    s.words((13.75, 4.6), f"{t.place('U1')}, seen\nfrom above", "center", 8.5)
    for at in range(4):
        level = 4.6 - 1.4 * at
        pad(11.2, level - 0.25, 1.2, 0.5)
        pad(15.0, level - 0.25, 1.2, 0.5)
        s.words((12.55, level), str(at + 1), size=8.5)
        s.words((14.85, level), str(8 - at), "right", 8.5)
    level = 4.6 - 2.8
    # The ring: from pins 1 and 2 round everything, and between pins 3 and 4 back to pin 2.
    ring((11.2, 4.6), (10.6, 4.6), (10.6, 3.2), (11.2, 3.2))
    ring((10.6, 3.2), (0.6, 3.2), (0.6, 0.4), (11.0, 0.4), (11.0, 1.1), (12.95, 1.1), (12.95, 2.5), (11.8, 2.5),
         (11.8, 2.95))
    s.words((5.4, 3.6), "guard: copper without solder resist, joined to pins 1 and 2", "center", 8.5)
    s.words((3.2, -0.3), "nothing but the input inside;\nthe ring passes under C1", "center", 8.5)

    # The input, all inside the ring.
    s.wire((2.2, level), (2.9, level), width=3)
    pad(1.4, level - 0.45, 0.9, 0.9)
    s.words((1.85, level + 0.8), "socket's pin", "center", 8.5)
    for left, name in [(2.9, "R1"), (7.4, "R31")]:
        pad(left, level - 0.4, 0.7, 0.8)
        pad(left + 1.8, level - 0.4, 0.7, 0.8)
        s.box((left + 0.7, level - 0.4), (1.1, 0.8), name, small=True)
    s.wire((5.4, level), (7.4, level), width=3)
    s.wire((9.9, level), (11.2, level), width=3)
    s.wire((6.4, level), (6.4, level - 0.3), width=3)
    pad(6.0, level - 0.9, 0.8, 0.7)
    pad(6.0, level - 2.7, 0.8, 0.7)
    pad(6.0, level - 2.0, 0.8, 1.1, "white")
    s.words((6.4, level - 1.75), "C1", "center", 8.5)
    s.wire((6.4, level - 2.7), (6.4, level - 3.4), width=3)
    s.net((6.4, level - 3.4), "reference")
