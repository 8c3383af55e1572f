"""The front end's supply, the sensor power, mid, and the capacitors at the chips' supply pins."""


def draw(s):
    """Three rails and mid."""
    t = s.table
    s.title((-1.6, 2.6), "Sensor power")
    s.net((0, 1), "3V3", "left")
    s.part("R14", (0, 1), (2.4, 1))
    s.wire((2.4, 1), (7.8, 1))
    s.rail((3.0, 1), "3V3F")
    s.dot((3.0, 1), (4.8, 1), (6.4, 1))
    s.part("C8", (3.0, 1), (3.0, -1), "left")
    s.ground((3.0, -1))
    s.part("R15", (4.8, 1), (4.8, -1.2), "left")
    s.part("C10", (6.4, 1), (6.4, -1.2))
    drain, gate = s.transistor("Q1", (7.8, 1))
    s.wire(gate, (8.7, -1.2), (4.8, -1.2))
    s.dot((6.4, -1.2), (4.8, -1.2))
    s.wire((4.8, -1.2), (4.8, -1.6))
    s.part("R16", (4.8, -1.6), (4.8, -3.4), "left")
    s.net((4.8, -3.4), f"power_not ({t.pins['power_not']})")
    s.wire(drain, (11.0, 1))
    s.rail((11.0, 1), "3V3S")
    s.part("C9", (11.0, 1), (11.0, -1))
    s.ground((11.0, -1))

    s.title((13.2, 2.6), "Mid: half the switched supply")
    s.rail((13.6, 1), "3V3S")
    s.part("R4", (13.6, 1), (13.6, -1), "left")
    s.part("R5", (13.6, -1), (13.6, -3), "left")
    s.ground((13.6, -3))
    s.wire((13.6, -1), (17.6, -1))
    s.dot((13.6, -1), (15.2, -1))
    s.part("C11", (15.2, -1), (15.2, -3))
    s.ground((15.2, -3))
    _, minus = s.amplifier("U1B", (19.5, -1.5))
    s.wire(minus, (17.2, -2.0), (17.2, -3.2), (20.1, -3.2), (20.1, -1.5))
    s.dot((20.1, -1.5))
    s.wire((19.5, -1.5), (20.9, -1.5))
    s.net((20.9, -1.5), f"mid, {t.facts['mid']}")

    s.title((-1.6, -5.0), "At the supply pins: one capacitor each, as near as it goes")
    for designator in ("U1", "U2"):
        plus, minus = s.told(designator, "V+", "3V3S"), s.told(designator, "V-", "GND")
    s.words((-1.6, -5.5), f"U1, U2: pin {plus} to 3V3S, pin {minus} to ground", size=8.5)
    rails = [("3V3S", ["C12", "C13"]), ("3V3F", ["C14", "C15", "C16", "C17"]), ("3V3", ["C18"])]
    x = 0
    for rail, designators in rails:
        begin = x
        for designator in designators:
            s.part(designator, (x, -7), (x, -8.8))
            s.ground((x, -8.8))
            chip = t.parts[designator][2].split()[-1]
            s.words((x + 0.38, -8.55), f"at {chip}", size=8.5)
            x += 2.4
        s.wire((begin, -7), (x - 2.4, -7))
        s.dot(*[(begin + 2.4 * at, -7) for at in range(len(designators))])
        s.rail((begin, -7), rail)
        x += 0.6
