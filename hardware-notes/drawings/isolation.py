"""How a ground loop comes about, and three ways not to have one."""


def draw(s):
    """The loop above, the ways out below."""
    def chain(level, boxes, links):
        """Boxes in a row, each (x, width, text), and the names of the links between neighbours."""
        for x, width, text in boxes:
            s.box((x, level - 0.6), (width, 1.2), text, small=True)
        for (one, other), link in zip(zip(boxes, boxes[1:]), links):
            begin, end = one[0] + one[1], other[0]
            s.wire((begin, level), (end, level))
            s.words(((begin + end) / 2, level + 0.22), link, "center", 8.5)

    s.title((0, 7.6), "The loop: a reference electrode that stands between two earths")
    tank, front_end = (0, 2.8, "water in an\nearthed tank"), (5.6, 2.8, "front end:\nmid above ground")
    chain(6.2, [tank, front_end, (11.2, 2.8, "computer on\nmains adapter")], ["reference", "USB"])
    s.wire((1.4, 5.6), (1.4, 4.9))
    s.ground((1.4, 4.9))
    s.wire((12.6, 5.6), (12.6, 4.9))
    s.ground((12.6, 4.9))
    s.dashed((1.9, 4.6), (12.1, 4.6))
    s.words((7.0, 4.35), "earth closes the circle: mid's voltage drives a current through the reference",
            "center", 8.5)

    s.title((0, 3.0), "Out of it")
    water, probe = (0.7, 2.8, "water, earthed\nor not"), (6.3, 2.8, "probe")
    laptop = (11.9, 3.4, "laptop on its battery,\nnothing else plugged in")
    isolator = (11.9, 3.4, "isolator for full-speed\nUSB, with its own supply")
    rows = [
        (1.9, "1", [water, probe, laptop], ["sensors", "USB"]),
        (0.1, "2", [water, probe, isolator, (18.1, 2.8, "computer")], ["sensors", "USB", "USB"]),
        (-1.7, "3", [water, probe, (11.9, 3.4, "computer on a battery,\nin a box beside it")], ["sensors", "USB"]),
    ]
    for level, number, boxes, links in rows:
        s.words((0.2, level), number, "center")
        chain(level, boxes, links)
