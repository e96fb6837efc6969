"""Makes a printed board of the evening build with KiCad's Python, its Gerbers and drills, and runs KiCad's rules.

Run it with the Python that has `pcbnew`: /usr/bin/python3 hardware/carrier.py FOLDER. The last line is one JSON object.
`--spoilt` makes one with two faults, to see that the rules find them.
"""

import json
import re
import sys
from itertools import pairwise
from pathlib import Path

import pcbnew
from making import circuit
from making.copper import carrier, onboard


def at(x: float, y: float) -> pcbnew.wxPoint:
    """A place in mm as KiCad has it, away from the sheet's edge."""
    return pcbnew.wxPointMM(x + 30, y + 30)


def drawn(whole: circuit.Circuit, board: onboard.Board, spoilt: bool) -> pcbnew.BOARD:
    """The board with every pad, track, via, screw hole and its edge; `spoilt`: a wire left out, two strips joined."""
    made = pcbnew.BOARD()
    made.GetDesignSettings().m_TrackMinWidth = pcbnew.FromMM(0.2)
    made.GetDesignSettings().m_MinClearance = pcbnew.FromMM(carrier.CLEAR_MM)
    nets = {}
    for name in whole.nets():
        nets[name] = pcbnew.NETINFO_ITEM(made, name)
        made.Add(nets[name])
    footprints: dict[str, pcbnew.FOOTPRINT] = {}
    pads = carrier.pads(whole, board)
    names = carrier.names(pads)
    for pad in pads:
        if pad.ref not in footprints:
            footprints[pad.ref] = footprint(made, whole, pad, names[pad.ref])
        footprints[pad.ref].Add(hole(footprints[pad.ref], pad, nets))
    for one in footprints.values():
        made.Add(one)
    tracks = [*carrier.below(whole, board), *carrier.above(whole, board)]
    if spoilt:
        tracks[-1] = carrier.Track("look_k", False, ((50.8, 2.54), (50.8, 7.62)), 1.0)
    for track in tracks:
        for start, end in pairwise(track.points):
            made.Add(copper(made, track, start, end, nets[track.net]))
    net_at = onboard.nets_of(whole, board)
    for one in carrier.vias(board):
        via = pcbnew.PCB_VIA(made)
        via.SetPosition(at(one[1] * carrier.PITCH_MM, one[0] * carrier.PITCH_MM))
        via.SetDrill(pcbnew.FromMM(0.8))
        via.SetWidth(pcbnew.FromMM(1.4))
        via.SetNet(nets[net_at[board.segment(one)]])
        made.Add(via)
    edge(made, board)
    return made


def footprint(
    made: pcbnew.BOARD, whole: circuit.Circuit, pad: carrier.Pad, name_at: tuple[float, float]
) -> pcbnew.FOOTPRINT:
    """An empty part at the place of its first pad, its reference on the silk screen."""
    one = pcbnew.FOOTPRINT(made)
    one.SetReference(pad.ref)
    one.SetValue(whole[pad.ref].type.value if pad.ref in whole.parts else "wire")
    one.SetPosition(at(*pad.at_mm))
    one.Reference().SetPosition(at(*name_at))
    one.Reference().SetTextSize(pcbnew.wxSizeMM(carrier.NAME_MM, carrier.NAME_MM))
    one.Reference().SetTextThickness(pcbnew.FromMM(carrier.NAME_PEN_MM))
    one.Value().SetVisible(False)
    return one


def hole(one: pcbnew.FOOTPRINT, pad: carrier.Pad, nets: dict[str, pcbnew.NETINFO_ITEM]) -> pcbnew.PAD:
    """A plated hole with copper on both sides."""
    made = pcbnew.PAD(one)
    made.SetAttribute(pcbnew.PAD_ATTRIB_PTH)
    made.SetShape(pcbnew.PAD_SHAPE_CIRCLE)
    made.SetSize(pcbnew.wxSizeMM(pad.size_mm, pad.size_mm))
    made.SetDrillSize(pcbnew.wxSizeMM(pad.drill_mm, pad.drill_mm))
    made.SetLayerSet(made.PTHMask())
    made.SetNumber(pad.pin)
    made.SetPosition(at(*pad.at_mm))
    made.SetPos0(at(*pad.at_mm) - one.GetPosition())
    if pad.net:
        made.SetNet(nets[pad.net])
    return made


def copper(
    made: pcbnew.BOARD,
    track: carrier.Track,
    start: tuple[float, float],
    end: tuple[float, float],
    net: pcbnew.NETINFO_ITEM,
) -> pcbnew.PCB_TRACK:
    """A straight piece of a track."""
    one = pcbnew.PCB_TRACK(made)
    one.SetStart(at(*start))
    one.SetEnd(at(*end))
    one.SetWidth(pcbnew.FromMM(track.width_mm))
    one.SetLayer(pcbnew.F_Cu if track.above else pcbnew.B_Cu)
    one.SetNet(net)
    return one


def edge(made: pcbnew.BOARD, board: onboard.Board) -> None:
    """Outline and screw holes."""
    left, top, right, bottom = carrier.outline(board)
    corners = ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))
    for start, end in pairwise(corners):
        line = pcbnew.PCB_SHAPE(made)
        line.SetShape(pcbnew.SHAPE_T_SEGMENT)
        line.SetStart(at(*start))
        line.SetEnd(at(*end))
        line.SetLayer(pcbnew.Edge_Cuts)
        line.SetWidth(pcbnew.FromMM(0.1))
        made.Add(line)
    for x, y in carrier.screws(board):
        circle = pcbnew.PCB_SHAPE(made)
        circle.SetShape(pcbnew.SHAPE_T_CIRCLE)
        circle.SetStart(at(x, y))
        circle.SetEnd(at(x + carrier.SCREW_MM / 2, y))
        circle.SetLayer(pcbnew.Edge_Cuts)
        circle.SetWidth(pcbnew.FromMM(0.1))
        made.Add(circle)


LAYERS = (("F_Cu", pcbnew.F_Cu), ("B_Cu", pcbnew.B_Cu), ("F_Mask", pcbnew.F_Mask), ("B_Mask", pcbnew.B_Mask))
LAYERS += (("F_SilkS", pcbnew.F_SilkS), ("Edge_Cuts", pcbnew.Edge_Cuts))


def gerbers(made: pcbnew.BOARD, folder: Path) -> None:
    """One file a layer, and the drills."""
    plot = pcbnew.PLOT_CONTROLLER(made)
    options = plot.GetPlotOptions()
    options.SetOutputDirectory(str(folder))
    options.SetUseGerberProtelExtensions(False)
    for name, layer in LAYERS:
        plot.SetLayer(layer)
        plot.OpenPlotfile(name, pcbnew.PLOT_FORMAT_GERBER, name)
        plot.PlotLayer()
    plot.ClosePlot()
    drills = pcbnew.EXCELLON_WRITER(made)
    drills.SetFormat(True)
    drills.CreateDrillandMapFilesSet(str(folder), True, False)


def main(folder: Path, spoilt: bool) -> int:
    """0 when the rules find nothing."""
    folder.mkdir(parents=True, exist_ok=True)
    whole = circuit.load("evening")
    board = onboard.checked(whole, circuit.listed("evening/board.yaml"))
    path = folder / "carrier.kicad_pcb"
    pcbnew.SaveBoard(str(path), drawn(whole, board, spoilt))
    made = pcbnew.LoadBoard(str(path))
    report = folder / "rules.txt"
    pcbnew.WriteDRCReport(made, str(report), pcbnew.EDA_UNITS_MILLIMETRES, True)
    gerbers(made, folder)
    told = report.read_text("utf-8")
    kinds = re.findall(r"^\[(\w+)\]", told, re.M)
    counts = {kind: kinds.count(kind) for kind in sorted(set(kinds))}
    grave = {kind: count for kind, count in counts.items() if not kind.startswith("lib_")}
    loose = re.search(r"Found (\d+) unconnected", told)
    files = sorted(one.name for one in folder.iterdir())
    unconnected = int(loose[1]) if loose else -1
    found = {"rules": counts, "grave": grave, "unconnected": unconnected, "tracks": len(made.GetTracks())}
    print(json.dumps(found | {"files": files}))
    return 1 if grave or unconnected else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), "--spoilt" in sys.argv))
