"""The microcontroller board, with the numbers at its edge."""


def draw(s):
    """Every line of the pin table."""
    t = s.table
    used = [(name, int(gpio[2:])) for name, gpio in t.pins.items() if name not in ("lamp", "regulator")]
    height = 0.62 * len(used) + 0.6
    left = [(height - 0.6 - 0.62 * at, f"GP{gpio}") for at, (_, gpio) in enumerate(used)]
    right = [(height - 0.6, "3V3(OUT)"), (height - 1.8, "GND"), (height - 3.4, "AGND"), (height - 4.6, "VBUS"),
             (height - 5.4, "VSYS")]
    pins = s.chip("A1", (0, 0), (4.0, height), left, right, "  Raspberry Pi Pico")
    for name, gpio in used:
        s.net(pins[f"GP{gpio}"], name, "left")
    s.net(pins["3V3(OUT)"], "3V3")
    for name in ("GND", "AGND"):
        x, y = pins[name]
        s.wire((x, y), (x + 0.4, y))
        s.ground((x + 0.4, y))
    grounds = ", ".join(str(number) for number in t.numbers("A1", "GND"))
    s.words((5.4, pins["GND"][1] - 0.1), grounds, size=7)
    s.words((4.75, pins["VBUS"][1]), "not connected: 5 V", size=8.5)
    s.words((4.75, pins["VSYS"][1]), "not connected: no cells", size=8.5)
    s.stroke((4.0, height - 6.2), (4.5, height - 6.2))
    s.words((3.86, height - 6.2), "USB", "right", 8.5)
    s.words((4.75, height - 6.2), "computer, or an isolator", size=8.5)
    s.words((2.0, -0.4), "small numbers: contacts at the edge", "center", 8.5)
