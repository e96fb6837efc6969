"""What `pulldrop` alone shows: what to do next, by what is here."""

from pulldrop.cli.show import screen


def show() -> None:
    """A few lines; no board is opened and no store made."""
    from pulldrop.board.ports import candidates
    from pulldrop.store import Store, StoreError

    out, ports = screen.console(), candidates()
    try:
        with Store.look() as history:
            kept = history.info()
            runs, parts = kept.runs, kept.parts
    except StoreError:
        runs = parts = 0
    out.print("pulldrop tests a relay pulled from a vehicle, by numbers instead of by a click. Next:\n")
    lines = [("pulldrop demo", "see it work on invented parts; needs no hardware")]
    test = ("pulldrop test", "test the part in the socket; it says what it found, and goes on at Space")
    sort = ("pulldrop sort CRATE", "sort a crate of used parts with one key")
    if ports:
        lines = [("pulldrop doctor", f"whether the board at {ports[0]} and this computer are ready"), test, sort]
    else:
        lines += [
            ("pulldrop test --board virtual", "test an invented part"),
            ("pulldrop doctor", "what this computer lacks"),
        ]
    lines.append(("pulldrop quickstart", "wire a bare Nano or an evening build, check it, test a first part"))
    if runs:
        lines.append(("pulldrop parts list", f"the {parts} parts and {runs} runs so far"))
    for command, does in lines:
        out.print(screen.beside(f"  {command}", does, width=32))
    out.print("\nAll commands: pulldrop --help")
