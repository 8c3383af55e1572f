"""The thermometer on the fourth position of the range switch."""


def draw(s):
    """Reference resistor, thermometer, taps."""
    t = s.table
    s.net((0, 0), "thermometer drive", "left")
    s.part("R11", (0, 0), (2.4, 0))
    s.wire((2.4, 0), (8.9, 0))
    s.box((8.5, -4.0), (2.3, 4.6))
    s.words((9.65, 0.9), f"{t.place('J3')}  thermometer", "center")
    for level, name in [(0, "top"), (-2.2, "bottom"), (-3.5, "shield")]:
        s.terminal((9.0, level), "J3", name, (8.9, level))
        s.words((9.25, level), name, size=8.5)
    s.dot((3.4, 0))
    s.wire((3.4, 0), (3.4, 0.6))
    s.part("R20", (3.4, 0.6), (3.4, 2.4))
    s.net((3.4, 2.4), "tap top")
    s.clamp("D3", (5.6, 0))
    s.net((0, -2.2), "mid", "left")
    s.part("R29", (0, -2.2), (2.4, -2.2))
    s.wire((2.4, -2.2), (8.9, -2.2))
    s.dot((3.4, -2.2))
    s.part("R21", (3.4, -2.2), (3.4, -4.2), "left")
    s.net((3.4, -4.2), "tap bottom")
    s.clamp("D4", (7.4, -2.2))
    s.wire((8.9, -3.5), (8.2, -3.5), (8.2, -3.7))
    s.ground((8.2, -3.7))
    # The sensor.
    s.wire((10.8, 0), (12.8, 0), (12.8, -0.7), style="--")
    s.wire((10.8, -2.2), (12.8, -2.2), (12.8, -1.5), style="--")
    s.box((12.5, -1.5), (0.6, 0.8))
    s.words((13.3, -1.1), "Pt1000 or another, in a\nsheath that insulates it\nfrom the water", size=8.5)
