"""From the drive pin through range resistor and cell back to mid."""


def draw(s):
    """Drive, range switch, cell, return."""
    t = s.table
    # Drive.
    s.net((-1.8, 0), f"drive ({t.pins['drive']})", "left")
    s.part("R6", (-1.8, 0), (0.4, 0))
    s.wire((0.4, 0), (2.1, 0))
    s.dot((1.0, 0))
    s.part("R7", (1.0, 0), (1.0, -2.2), "left")
    s.net((1.0, -2.2), "mid", "left")
    _, minus = s.amplifier("U2A", (4.0, -0.5))
    s.wire(minus, (1.7, -1.0), (1.7, -2.2), (4.5, -2.2), (4.5, -0.5))
    s.dot((4.5, -0.5))
    s.wire((4.0, -0.5), (4.8, -0.5))
    s.part("C4", (4.8, -0.5), (6.8, -0.5))
    s.wire((6.8, -0.5), (8.6, -0.5))
    s.dot((7.4, -0.5))
    s.part("R28", (7.4, -0.5), (7.4, 1.6))
    s.net((7.4, 1.6), "mid")
    s.words((3.2, 1.0), f"±{t.facts['drive']} about mid", "center", 8.5)

    # Range switch.
    rows = [1.5, 0.0, -1.5, -3.0]
    right = []
    for at, level in enumerate(rows):
        right += [(level + 6.0, f"X{at}"), (level + 5.4, f"Y{at}")]
    left = [(5.5, "X"), (4.4, "Y"), (3.3, "A"), (2.3, "B"), (1.3, "INH, VEE, VSS"), (0.5, "VDD")]
    pins = s.chip("U3", (9.1, -6.0), (3.0, 8.2), left, right, "  range switch")
    s.net(pins["Y"], "h", "left")
    s.net(pins["A"], f"range_low ({t.pins['range_low']})", "left")
    s.net(pins["B"], f"range_high ({t.pins['range_high']})", "left")
    s.wire(pins["INH, VEE, VSS"], (8.2, -4.7))
    s.ground((8.2, -4.7))
    s.net(pins["VDD"], "3V3F", "left")

    # Range resistors: the switch's two halves meet at their hot ends.
    for at, (designator, level) in enumerate(zip(["R8", "R9", "R10"], rows)):
        x_pin, y_pin = pins[f"X{at}"], pins[f"Y{at}"]
        s.wire(y_pin, (13.1, y_pin[1]), (13.1, x_pin[1]))
        s.wire(x_pin, (13.4, x_pin[1]))
        s.dot((13.1, x_pin[1]))
        s.part(designator, (13.4, x_pin[1]), (15.6, x_pin[1]))
        s.wire((15.6, x_pin[1]), (16.2, x_pin[1]))
    s.wire(pins["Y3"], (13.1, pins["Y3"][1]), (13.1, pins["X3"][1]))
    s.wire(pins["X3"], (13.6, pins["X3"][1]))
    s.dot((13.1, pins["X3"][1]))
    s.net((13.6, pins["X3"][1]), "thermometer drive")
    top = pins["X0"][1]
    s.wire((16.2, pins["X2"][1]), (16.2, top))
    s.dot((16.2, pins["X1"][1]), (16.2, top))

    # Cell.
    s.wire((16.2, top), (22.0, top))
    s.box((21.6, -2.3), (2.2, 4.4))
    s.words((22.7, 2.4), f"{t.place('J2')}  cell", "center")
    for level, name in [(top, "top"), (-0.6, "bottom"), (-1.8, "shield")]:
        s.terminal((22.1, level), "J2", name, (22.0, level))
        s.words((22.35, level), name, size=8.5)
    s.wire((22.0, -1.8), (21.2, -1.8), (21.2, -2.0))
    s.ground((21.2, -2.0))
    s.clamp("D1", (18.8, top))
    s.clamp("D2", (20.4, -0.6))
    # Taps.
    s.dot((17.3, top))
    s.wire((17.3, top), (17.3, 2.4))
    s.part("R18", (17.3, 2.4), (17.3, 4.4))
    s.net((17.3, 4.4), "tap a")
    s.wire((22.0, -0.6), (16.9, -0.6), (16.9, -7.4))
    s.dot((16.9, -4.6))
    s.wire((16.9, -4.6), (17.6, -4.6))
    s.part("R19", (17.6, -4.6), (19.8, -4.6))
    s.net((19.8, -4.6), "tap b")

    # Return.
    s.wire((16.9, -7.4), (16.4, -7.4))
    s.part("R30", (16.4, -7.4), (14.8, -7.4))
    s.part("C5", (14.8, -7.4), (13.0, -7.4), "below")
    left = [(2.0, "X"), (1.0, "X0"), (0.3, "A")]
    pins = s.chip("U5", (9.1, -9.6), (3.0, 2.9), left, [(2.2, "X1")],
                  "  first of three: the return")
    s.wire((13.0, -7.4), pins["X1"])
    s.net(pins["X"], "mid", "left")
    s.net(pins["X0"], "reference return", "left")
    s.wire(pins["A"], (7.4, -9.3))
    s.dot((7.4, -9.3))
    s.wire((7.4, -9.3), (5.8, -9.3))
    s.net((5.8, -9.3), f"cell ({t.pins['cell']})", "left")
    s.part("R22", (7.4, -9.3), (7.4, -11.2))
    s.ground((7.4, -11.2))
