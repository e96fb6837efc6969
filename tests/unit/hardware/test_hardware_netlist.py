"""The net list for KiCad, read back by a library that knows S-expressions alone, is the circuit pin by pin."""

from pathlib import Path

import sexpdata
from making import circuit, netlist

WHOLE = circuit.load()


def children(node: list[object], name: str) -> list[list[object]]:
    return [one for one in node if isinstance(one, list) and one and str(one[0]) == name]


def field(node: list[object], name: str) -> str:
    return str(children(node, name)[0][1])


def read(text: str) -> tuple[dict[str, str], dict[str, set[tuple[str, str]]]]:
    """Values by reference, and pins (reference, leg) by net."""
    whole = sexpdata.loads(text)
    assert str(whole[0]) == "export"
    assert field(whole, "version") == "E"
    parts = children(children(whole, "components")[0], "comp")
    nets = children(children(whole, "nets")[0], "net")
    pins = {field(net, "name"): {(field(n, "ref"), field(n, "pin")) for n in children(net, "node")} for net in nets}
    assert len(pins) == len(nets)
    assert [field(net, "code") for net in nets] == [str(n) for n in range(1, len(nets) + 1)]
    return {field(part, "ref"): field(part, "value") for part in parts}, pins


def test_every_part_and_every_net_comes_back_as_it_is_in_the_circuit() -> None:
    parts, nets = read((Path(circuit.FOLDER) / "lists/pulldrop.net").read_text("utf-8"))
    assert set(parts) == set(WHOLE.parts)
    wanted = {net: {(ref, WHOLE[ref].type.leg(pin)) for ref, pin in pins} for net, pins in WHOLE.nets().items()}
    for net in wanted.keys() | nets.keys():
        assert nets.get(net) == wanted.get(net), net


def test_no_leg_is_on_two_nets() -> None:
    _, nets = read(netlist.text(WHOLE))
    legs = [leg for pins in nets.values() for leg in pins]
    assert len(legs) == len(set(legs))


def test_quotes_in_words_come_back() -> None:
    assert sexpdata.loads(netlist._quoted('a "b" \\ c')) == 'a "b" \\ c'
