"""What KiCad reads in the front end's files, as lines, and what its rule check says. Run by tests/kicad/run."""

import os
import re
import shutil
import sys
import tempfile


def lines(pins):
    """Part, pad, net or `-`, in the order of the table."""
    for (part, pad), net in sorted(pins.items(), key=lambda pin: (pin[0][0], int(pin[0][1]))):
        print(part, pad, "-" if net.startswith("unconnected-") else net, sep="\t")


def nets(path):
    """Of a net list that KiCad exported."""
    pins = {}
    text = open(path, encoding="utf-8").read()
    for net in re.split(r"\(net\s", text)[1:]:
        name = re.search(r'\(name\s+"([^"]*)"', net).group(1)
        for part, pad in re.findall(r'\(node\s+\(ref\s+"([^"]*)"\)\s*\(pin\s+"([^"]*)"', net):
            if not part.startswith("#"):
                assert (part, pad) not in pins, (part, pad)
                pins[part, pad] = name
    lines(pins)


def board_of(path):
    import pcbnew

    # Where the project's libraries are; KiCad's window sets it.
    os.environ["KIPRJMOD"] = os.path.dirname(path)
    return pcbnew.LoadBoard(path)


def pads(path):
    """Of a board, by KiCad's own reading."""
    found = {}
    for footprint in board_of(path).GetFootprints():
        for pad in footprint.Pads():
            key = footprint.GetReference(), pad.GetNumber()
            assert key not in found, key
            found[key] = pad.GetNetname()
    lines(found)


def violations(path):
    """Kinds of violations that the rule check reports, each with how often."""
    import pcbnew

    with tempfile.TemporaryDirectory() as folder:
        report = os.path.join(folder, "report")
        # Called otherwise since KiCad 8.
        mm = getattr(pcbnew, "EDA_UNITS_MILLIMETRES", None) or pcbnew.EDA_UNITS_MM
        assert pcbnew.WriteDRCReport(board_of(path), report, mm, True)
        text = open(report, encoding="utf-8").read()
    assert "** End of Report **" in text, text
    kinds = re.findall(r"^\[(\w+)\]", text, re.MULTILINE)
    return {kind: kinds.count(kind) for kind in sorted(set(kinds))}


def drc(path):
    found = violations(path)
    print(found)
    assert set(found) == {"unconnected_items"}


def rules(path):
    """KiCad took our rules from the project, and not its own."""
    board = board_of(path)
    rule = board.GetDesignSettings()
    assert rule.m_TrackMinWidth == 200_000 and rule.m_CopperEdgeClearance == 500_000, rule.m_TrackMinWidth
    name = board.FindNet("input").GetNetClassName()
    assert name.split(",")[0] == "Input", name


def pad(board, part, number):
    footprint = board.FindFootprintByReference(part)
    return next(pad for pad in footprint.Pads() if pad.GetNumber() == number)


def sown(path):
    """A track too thin, and one that joins two nets."""
    import pcbnew

    board = board_of(path)
    for part, width in [("R1", 0.1), ("R8", 0.3)]:
        ends = pad(board, part, "1"), pad(board, part, "2")
        track = pcbnew.PCB_TRACK(board)
        track.SetStart(ends[0].GetPosition())
        track.SetEnd(ends[1].GetPosition())
        track.SetWidth(pcbnew.FromMM(width))
        track.SetLayer(pcbnew.F_Cu)
        track.SetNet(ends[0].GetNet())
        board.Add(track)
    # In the project's folder, whose rules are to hold.
    other = path.replace(".kicad_pcb", "-sown.kicad_pcb")
    board.Save(other)
    shutil.copyfile(path.replace(".kicad_pcb", ".kicad_pro"), other.replace(".kicad_pcb", ".kicad_pro"))
    found = violations(other)
    print(found)
    # KiCad 6 calls what is joined too near.
    assert "track_width" in found and {"clearance", "shorting_items"} & set(found)


def saved(path, other):
    board_of(path).Save(other)


def swapped(path, other):
    """The two gates' outputs changed over."""
    board = board_of(path)
    one, two = pad(board, "U5", "4"), pad(board, "U5", "15")
    first, second = one.GetNet(), two.GetNet()
    one.SetNet(second)
    two.SetNet(first)
    board.Save(other)


if __name__ == "__main__":
    {f.__name__: f for f in (nets, pads, drc, rules, sown, saved, swapped)}[sys.argv[1]](*sys.argv[2:])
