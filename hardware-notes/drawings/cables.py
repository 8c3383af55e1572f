"""Three sockets and what is in their cables."""


def draw(s):
    """Which wire goes where."""
    t = s.table

    def core(level, begin, end, left, right):
        s.wire((begin, level), (end, level), width=2)
        s.words((begin - 0.2, level), left, "right", 8.5)
        s.words((end + 0.2, level), right, "left", 8.5)

    def jacket(bottom, top):
        s.box((1.6, bottom), (8.0, top - bottom), style="--")

    s.title((-3.4, 7.4), f"{t.place('J1')}: coaxial, socket insulated from the housing")
    core(6.4, 0, 11.2, "inner contact: glass", "glass membrane")
    s.wire((0, 5.6), (1.6, 5.6), width=2)
    s.wire((9.6, 5.6), (11.2, 5.6), width=2)
    s.words((-0.2, 5.6), "shell: reference, by R17 and U5 to mid", "right", 8.5)
    s.words((11.4, 5.6), "reference electrode", "left", 8.5)
    jacket(5.6, 6.9)
    s.words((5.6, 5.3), "the screen is the reference: never to ground", "center", 8.5)

    for base, socket, name, top, bottom in [(2.0, "J2", "cell", "inner or driven electrode", "outer electrode"),
                                            (-2.0, "J3", "thermometer", "one end", "other end")]:
        s.title((-3.4, base + 2.1), f"{t.place(socket)}: two cores and a screen, {name}")
        core(base + 1.1, 0, 11.2, "top", top)
        core(base + 0.5, 0, 11.2, "bottom", bottom)
        s.wire((0, base - 0.1), (1.6, base - 0.1), width=2)
        s.words((-0.2, base - 0.1), "shield: ground, at the board only", "right", 8.5)
        jacket(base - 0.1, base + 1.6)
        s.words((9.8, base - 0.1), "ends here, insulated", "left", 8.5)
