"""What drive and gates do, cycle by cycle, and where the taps' voltage is held."""

CYCLES = 128


def draw(s):
    """The first half period, then two periods."""
    t = s.table
    first, *period = t.steps
    steps = [first] + period + period
    scale = 8 / CYCLES
    names = [f"{line} ({t.pins[line]})" for line in ("drive", "gate_plus", "gate_minus")]
    for row, name in enumerate(names):
        low = -1.7 * row
        s.words((-0.3, low + 0.4), name, "right")
        # All three are low before the start.
        at, points = 0.0, [(0.0, low)]
        for step in steps:
            level = low + 0.8 * step[1 + row]
            points.append((at, level))
            at += step[0] * scale
            points.append((at, level))
        s.wire(*points)
    # Marks.
    begin = first[0] * scale
    for mark in (0, begin, begin + 4, begin + 8):
        s.dashed((mark, 1.1), (mark, -4.0))
    s.words((begin / 2, 1.35), "half as long", "center", 8.5)
    s.words((begin + 2, 1.35), "negative half period", "center", 8.5)
    s.words((begin + 6, 1.35), "positive half period", "center", 8.5)
    s.words((begin + 12, 1.35), "and so on", "center", 8.5)
    gates = [at for at, step in enumerate(period) if step[3]]
    before = sum(step[0] for step in period[:gates[0]]) * scale
    width = period[gates[0]][0] * scale
    low = -4.0
    s.wire((begin + before, low), (begin + before + width, low), arrow="<->")
    share = [round(100 * 2 * part / CYCLES / scale) for part in (before, before + width)]
    s.words((begin + before + width / 2, low - 0.3), f"{share[0]} to {share[1]} % of the half period", "center", 8.5)
