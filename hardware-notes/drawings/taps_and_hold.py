"""From the taps through one follower and two gates to the converter's inputs 2 and 3."""


def draw(s):
    """Tap switch, follower, gates, holds."""
    t = s.table
    inputs = ["h", "tap top", "tap bottom", "mid", "h", "tap a", "tap b", "mid"]
    left = [(7.4 - 0.75 * at, f"X{at}") for at in range(len(inputs))]
    right = [(7.0, "X"), (4.0, "A"), (3.2, "B"), (2.4, "C"), (1.4, "INH, VEE, VSS"), (0.6, "VDD")]
    pins = s.chip("U4", (0, -7.0), (2.8, 8.0), left, right, "  tap switch")
    for at, name in enumerate(inputs):
        s.net(pins[f"X{at}"], name, "left")
    s.words((-3.1, pins["X1"][1] - 0.4), "cell low:\nthermometer", "right", 8.5)
    s.words((-3.1, pins["X5"][1] - 0.4), "cell high:\ncell", "right", 8.5)
    s.net(pins["A"], f"tap_low ({t.pins['tap_low']})")
    s.net(pins["B"], f"tap_high ({t.pins['tap_high']})")
    s.net(pins["C"], f"cell ({t.pins['cell']})")
    s.wire(pins["INH, VEE, VSS"], (3.8, -5.6), (3.8, -5.7))
    s.ground((3.8, -5.7))
    s.net(pins["VDD"], "3V3F")

    # Follower.
    s.wire(pins["X"], (4.3, 0))
    _, minus = s.amplifier("U2B", (6.2, -0.5))
    s.wire(minus, (3.9, -1.0), (3.9, -1.75), (6.8, -1.75), (6.8, -0.5))
    s.dot((6.8, -0.5))
    s.wire((6.2, -0.5), (7.6, -0.5))
    s.dot((7.6, -0.5))

    # Gates.
    left = [(9.2, "Y1"), (7.8, "B"), (4.6, "Z1"), (3.2, "C"), (0.5, "VDD")]
    right = [(9.2, "Y"), (7.8, "Y0"), (4.6, "Z"), (3.2, "Z0"), (0.5, "INH, VEE, VSS")]
    gates = s.chip("U5", (13.6, -7.2), (2.8, 10.0), left, right, "  the gates, second and third of three")
    for pin, resistor, control, pull_down in [("Y1", "R12", "gate_plus", "R23"), ("Z1", "R13", "gate_minus", "R24")]:
        level = gates[pin][1]
        s.wire((7.6, -0.5), (7.6, level), (8.0, level))
        s.part(resistor, (8.0, level), (10.2, level))
        s.wire((10.2, level), gates[pin])
        level = gates["B" if pin == "Y1" else "C"][1]
        s.wire((13.1, level), (11.6, level))
        s.dot((12.0, level))
        s.net((11.6, level), f"{control} ({t.pins[control]})", "left")
        s.part(pull_down, (12.0, level), (12.0, level - 1.8), "left")
        s.ground((12.0, level - 1.8))
    s.net(gates["VDD"], "3V3F", "left")
    s.words((17.0, gates["Y0"][1]), "open", size=8.5)
    s.words((17.0, gates["Z0"][1]), "open", size=8.5)
    s.wire(gates["INH, VEE, VSS"], (17.3, -6.7))
    s.ground((17.3, -6.7))

    # Holds.
    for pin, capacitor, name in [("Y", "C6", "AIN2"), ("Z", "C7", "AIN3")]:
        x, y = gates[pin]
        s.wire((x, y), (20.4, y))
        s.net((20.4, y), name)
        s.dot((18.4, y))
        s.part(capacitor, (18.4, y), (18.4, y - 1.8))
        s.net((18.4, y - 1.8), "mid")
    s.words((20.4, -0.6), f"read as a difference,\n{t.facts['taps full scale']}", size=8.5)
