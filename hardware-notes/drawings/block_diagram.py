"""Everything at a glance: what a reading passes on its way."""


def draw(s):
    """Sensors, front end, board."""
    t = s.table
    s.box((-0.6, -0.3), (3.6, 10.6), style="--")
    s.words((1.2, 10.6), "in the water", "center")
    s.box((4.2, -0.3), (16.6, 10.6), style="--")
    s.words((12.5, 10.6), "front end", "center")

    sensors = [(8.6, "pH electrode\nwith reference", "J1"), (4.8, "conductivity\ncell", "J2"),
               (1.0, "thermometer", "J3")]
    for level, text, socket in sensors:
        s.box((0, level - 0.7), (2.4, 1.4), text, small=True)
        s.words((3.6, level + 0.22), t.place(socket), "center", 8.5)

    def block(x, level, width, text, half=0.7):
        s.box((x, level - half), (width, 2 * half), text, small=True)

    # pH.
    block(5.0, 8.6, 2.6, "electrometer\nwith guard, U1A")
    block(9.0, 8.6, 2.2, f"filter\n{t.value('R2')} · {t.value('C2')}")
    s.wire((2.4, 8.6), (5.0, 8.6), arrow="->")
    s.wire((7.6, 8.6), (9.0, 8.6), arrow="->")
    s.wire((11.2, 8.6), (18.4, 8.6), arrow="->")
    # Mid, under the electrometer.
    block(5.0, 6.6, 2.6, f"mid {t.facts['mid']}, U1B")
    s.wire((5.0, 6.6), (4.6, 6.6), (4.6, 8.2), (2.4, 8.2), arrow="->")
    s.words((3.6, 7.95), "by U5A", "center", 8.5)

    # Conductivity and temperature.
    block(5.0, 4.8, 2.6, "range switch U3,\nfour resistors")
    s.wire((5.0, 4.8), (2.4, 4.8), arrow="<->")
    s.wire((5.4, 4.1), (5.4, 1.0), (2.4, 1.0), arrow="->")
    block(9.0, 6.4, 2.2, f"drive U2A,\n±{t.facts['drive']}")
    s.wire((10.1, 5.7), (10.1, 5.2), (7.6, 5.2), arrow="->")
    block(5.9, 2.4, 2.6, "return of the cell\nor reference, U5A")
    s.wire((2.4, 4.4), (4.6, 4.4), (4.6, 2.4), (5.9, 2.4), arrow="->")
    block(9.0, 4.0, 2.2, "tap switch U4,\nfollower U2B")
    s.wire((7.6, 4.4), (9.0, 4.4), arrow="->")
    s.words((8.3, 4.62), "h, a, b", "center", 8.5)
    block(12.6, 4.0, 2.4, "gates U5B, U5C\nand holds")
    s.wire((11.2, 4.0), (12.6, 4.0), arrow="->")
    s.wire((15.0, 4.0), (16.4, 4.0), (16.4, 7.8), (18.4, 7.8), arrow="->")

    # Converter, clock chip, power.
    block(18.4, 8.2, 2.0, "converter\nU6", 1.0)
    block(18.4, 4.4, 2.0, "clock chip\nU7, BT1")
    block(18.4, 0.8, 2.0, "sensor power\nQ1")
    s.box((23.2, -0.3), (2.6, 10.6), "A1\nmicrocontroller\nboard")
    s.wire((20.4, 8.2), (22.0, 8.2), (22.0, 4.4), (20.4, 4.4), arrow="<->")
    s.wire((22.0, 6.4), (23.2, 6.4), arrow="->")
    s.dot((22.0, 6.4))
    s.words((22.6, 6.65), "I2C", "center", 8.5)
    s.wire((23.2, 1.0), (20.4, 1.0), arrow="->")
    s.wire((18.4, 0.6), (16.6, 0.6), arrow="->")
    s.words((16.4, 0.6), "3V3S: supply of U1, U2 and mid", "right", 8.5)
    s.wire((23.2, 6.0), (21.4, 6.0), (21.4, 6.4), (11.2, 6.4), arrow="->")
    s.words((14.1, 6.65), "drive", "center", 8.5)
    s.wire((23.2, 2.6), (13.8, 2.6), (13.8, 3.3), arrow="->")
    s.wire((23.2, 2.2), (10.1, 2.2), (10.1, 3.3), arrow="->")
    s.wire((10.1, 2.2), (8.5, 2.2), arrow="->")
    s.wire((8.9, 2.2), (8.9, 3.6), (7.2, 3.6), (7.2, 4.1), arrow="->")
    s.dot((10.1, 2.2), (8.9, 2.2))
    s.words((16.4, 2.84), "gate_plus, gate_minus", "left", 8.5)
    s.words((14.4, 1.94), "range, tap and cell lines", "left", 8.5)
    s.wire((25.8, 5.0), (27.2, 5.0), arrow="<->")
    s.words((27.3, 5.0), "USB")
    for designator in t.places:
        t.place(designator)
