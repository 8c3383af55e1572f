"""What a drawing joins, by its lines alone: as a person follows them, from pin to pin and name to name."""


def at(point):
    """A point that is equal to itself however it was computed."""
    return round(point[0], 4), round(point[1], 4)


def is_inside(point, start, end):
    """Whether a point lies on an upright or level line, and not at its ends."""
    (x, y), (x0, y0), (x1, y1) = point, start, end
    if point in (start, end):
        return False
    return (x0 == x1 == x and min(y0, y1) < y < max(y0, y1)) or (y0 == y1 == y and min(x0, x1) < x < max(x0, x1))


class Conductors:
    """Lines, dots where they meet, and what stands at points: pins and names of nets."""

    def __init__(self):
        self.lines, self.dots, self.pins, self.names, self.words = [], set(), [], [], []

    def line(self, start, end):
        """A line that conducts."""
        self.lines.append((at(start), at(end)))

    def dot(self, point):
        """Where a line ends on another, or two cross and are joined."""
        self.dots.add(at(point))

    def pin(self, point, part, number):
        """A pin of a part."""
        self.pins.append((at(point), f"{part}.{number}"))

    def name(self, point, name):
        """A net's name, with blanks as in words and what is told beside it."""
        self.names.append((at(point), name.split(" (")[0].split(",")[0].replace(" ", "_")))

    def told(self, part, number, name):
        """A pin that words alone put on a net."""
        self.words.append(([name], [f"{part}.{number}"]))

    def groups(self):
        """What is joined: names and pins of each group, in order; and what cannot be told."""
        leader = {}

        def find(point):
            leader.setdefault(point, point)
            while leader[point] != point:
                point = leader[point]
            return point

        for start, end in self.lines:
            leader[find(start)] = find(end)
        complaints = []
        ends = {point for line in self.lines for point in line} | {point for point, _ in self.pins + self.names}
        for point in sorted(ends | self.dots):
            for start, end in self.lines:
                if is_inside(point, start, end):
                    if point not in self.dots:
                        complaints.append(f"something ends at {point} on a line, without a dot")
                    leader[find(point)] = find(start)
        groups = {}
        for point, name in self.names:
            groups.setdefault(find(point), (set(), set()))[0].add(name)
        for point, pin in self.pins:
            groups.setdefault(find(point), (set(), set()))[1].add(pin)
        return sorted([(sorted(names), sorted(pins)) for names, pins in groups.values()] + self.words), complaints
