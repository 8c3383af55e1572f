"""From the glass electrode to the converter's inputs 0 and 1."""


def draw(s):
    """Electrometer with guard, reference at mid, protection and filter."""
    t = s.table
    # The socket.
    s.terminal((0, 0), "J1", "glass", (0.1, 0))
    s.words((-0.75, 0), "glass", "right", 8.5)
    s.box((-1.9, -2.6), (2.35, 3.3))
    s.words((-0.7, -2.95), f"{t.place('J1')}  pH electrode", "center")
    s.terminal((0, -2.1), "J1", "reference", (0.1, -2.1))
    s.words((-0.25, -2.1), "reference", "right", 8.5)

    # Glass to electrometer.
    s.wire((0.1, 0), (0.8, 0))
    s.part("R1", (0.8, 0), (2.9, 0))
    s.wire((2.9, 0), (5.0, 0))
    s.dot((4.0, 0))
    s.part("R31", (5.0, 0), (7.1, 0))
    s.wire((7.1, 0), (8.1, 0))
    _, minus = s.amplifier("U1A", (10.0, -0.5))
    # Follower, which drives the guard too.
    s.wire((10.0, -0.5), (12.0, -0.5))
    s.wire(minus, (7.4, -1.0), (7.4, -3.0), (11.0, -3.0), (11.0, -0.5))
    s.wire((7.4, -3.0), (7.0, -3.0))
    s.dot((11.0, -0.5), (7.4, -3.0))
    s.net((7.0, -3.0), "guard", "left")

    # The guard ring.
    s.dashed((7.72, 0.4), (7.72, 1.35), (-0.45, 1.35), (-0.45, -0.6), (3.6, -0.6))
    s.dashed((4.4, -0.6), (7.4, -0.6))
    s.wire((7.4, -0.6), (7.4, -1.0))
    s.dot((7.4, -0.6), (7.4, -1.0))
    s.words((3.6, 1.65), "guard ring: round the socket's pin, R1, the upper end of C1, R31 and pin 3", "center", 8.5)

    # From inside the ring to the reference, with which all else moves.
    s.part("C1", (4.0, 0), (4.0, -2.1))

    # Filter.
    s.part("R2", (12.0, -0.5), (14.0, -0.5))
    s.wire((14.0, -0.5), (16.2, -0.5))
    s.dot((14.8, -0.5))
    s.part("C2", (14.8, -0.5), (14.8, -2.2))
    s.ground((14.8, -2.2))
    s.net((16.2, -0.5), "AIN0")

    # Reference, by U5 to mid, and mid.
    s.wire((0.1, -2.1), (4.0, -2.1))
    s.dot((1.2, -2.1))
    s.wire((1.2, -2.1), (1.2, -5.0))
    s.part("R17", (1.2, -5.0), (3.4, -5.0), "above")
    left = [(1.6, "X0"), (0.7, "X1")]
    pins = s.chip("U5", (4.1, -6.6), (2.4, 2.4), left, [(1.6, "X")])
    s.wire((3.4, -5.0), pins["X0"])
    s.net(pins["X1"], "return", "left")
    s.wire(pins["X"], (12.0, -5.0))
    s.words((5.3, -7.0), f"pin cell ({t.pins['cell']}): low joins X0, high joins X1", "center", 8.5)
    s.dot((8.4, -5.0))
    s.wire((8.4, -5.0), (8.4, -5.8))
    s.net((8.4, -5.8), "mid")
    s.part("R3", (12.0, -5.0), (14.0, -5.0))
    s.wire((14.0, -5.0), (16.2, -5.0))
    s.dot((14.8, -5.0))
    s.part("C3", (14.8, -5.0), (14.8, -6.7))
    s.ground((14.8, -6.7))
    s.net((16.2, -5.0), "AIN1")
    s.words((16.2, -2.75), f"read as a difference,\n{t.facts['electrode full scale']}", size=8.5)
