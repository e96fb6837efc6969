"""Neighbours that say nothing, half a request, nonsense or guesses: the page stays open to the others, and the bench's
terminal stays as it is."""

import contextlib
import http.client
import socket
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing
from urllib.parse import urlsplit

import pytest

from pulldrop.model.crate.crate import Command
from pulldrop.page import Page, served
from pulldrop.page import app as page_app
from pulldrop.page.app import SCREENS_OF_ONE
from pulldrop.page.pairing import WRONG_CODES, WRONG_IN_ALL
from pulldrop.page.visitor import OF_ALL, OF_ONE_ADDRESS

NEIGHBOURS = 130


class Attacked:
    """A page that listens to the network, and what it said to its bench."""

    def __init__(self, page: Page, said: list[str], commands: list[Command]) -> None:
        self.page, self.said, self.commands = page, said, commands
        self.port = urlsplit(page.address).port or 0

    @property
    def head(self) -> bytes:
        return f"Host: 127.0.0.1:{self.port}\r\n".encode()

    def connect(self, host: int) -> socket.socket:
        """From another address of this machine, 127.0.0.`host`."""
        return socket.create_connection(("127.0.0.1", self.port), timeout=30, source_address=(f"127.0.0.{host}", 0))

    def look(self, host: int = 1) -> int:
        """What a neighbour who behaves gets."""
        source = (f"127.0.0.{host}", 0)
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=30, source_address=source)) as line:
            line.request("GET", "/page.css")
            return line.getresponse().status

    def pair(self, code: str, host: int) -> int:
        source, origin = (f"127.0.0.{host}", 0), f"http://127.0.0.1:{self.port}"
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=30, source_address=source)) as line:
            line.request("POST", "/pair", code, {"Origin": origin})
            return line.getresponse().status


@pytest.fixture
def attacked() -> Iterator[Attacked]:
    said, commands = list[str](), list[Command]()

    def take(command: Command) -> str:
        commands.append(command)
        return ""

    with served(take, said.append, lan=True, port=0) as page:
        yield Attacked(page, said, commands)


def silent(_: Attacked) -> bytes:
    return b""


def half_a_head(attacked: Attacked) -> bytes:
    return b"GET / HTTP/1.1\r\n" + attacked.head


def half_a_body(attacked: Attacked) -> bytes:
    return (
        b"POST /pair HTTP/1.1\r\n" + attacked.head
        + f"Origin: http://127.0.0.1:{attacked.port}\r\nContent-Length: 4000\r\n\r\n12".encode()
    )  # fmt: skip


def a_stream_unread(attacked: Attacked) -> bytes:
    return b"GET /events HTTP/1.1\r\n" + attacked.head + b"\r\n"


@pytest.mark.parametrize("sends", [silent, half_a_head, half_a_body, a_stream_unread])
@pytest.mark.parametrize("addresses", [1, NEIGHBOURS])
def test_many_neighbours_shut_nobody_out(
    attacked: Attacked, sends: Callable[[Attacked], bytes], addresses: int
) -> None:
    with ExitStack() as open_lines:
        for number in range(NEIGHBOURS):
            line = open_lines.enter_context(attacked.connect(10 + number % addresses))
            with contextlib.suppress(OSError):  # it may have been made to leave already
                line.sendall(sends(attacked))
        assert attacked.look() == 200
    assert attacked.said == []


def test_one_address_holds_no_more_than_its_share_and_the_longest_silent_leave(attacked: Attacked) -> None:
    with ExitStack() as open_lines:
        lines = [open_lines.enter_context(attacked.connect(10)) for _ in range(OF_ONE_ADDRESS + 5)]
        assert attacked.look() == 200
        assert [gone(one) for one in lines[:5]] == [True] * 5
        for one in lines[5:]:
            one.sendall(b"GET /page.css HTTP/1.1\r\n" + attacked.head + b"\r\n")
        assert all(one.recv(15) == b"HTTP/1.1 200 OK" for one in lines[5:])


def test_more_than_all_that_may_come_make_room_too(attacked: Attacked) -> None:
    with ExitStack() as open_lines:
        for number in range(OF_ALL + 20):
            open_lines.enter_context(attacked.connect(10 + number // 2))
        assert attacked.look() == 200


def gone(line: socket.socket) -> bool:
    line.settimeout(10)
    try:
        return line.recv(1) == b""
    except ConnectionError:
        return True


@pytest.mark.parametrize("sends", [silent, half_a_head])
def test_whoever_says_nothing_or_half_a_request_leaves_in_time(
    attacked: Attacked, sends: Callable[[Attacked], bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pulldrop.page.visitor.HEADERS_S", 0.3)
    with closing(attacked.connect(10)) as line:
        line.sendall(sends(attacked))
        assert gone(line)


def test_a_byte_at_a_time_gives_no_more_time(attacked: Attacked, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pulldrop.page.visitor.HEADERS_S", 0.3)
    with closing(attacked.connect(10)) as line, pytest.raises(ConnectionError):
        for byte in half_a_head(attacked) + b"X: " + b"y" * 1000:
            line.sendall(bytes([byte]))
            time.sleep(0.02)


def test_half_a_body_is_no_command_and_no_code(attacked: Attacked, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(page_app, "BODY_S", 0.3)
    with closing(attacked.connect(10)) as line:
        line.sendall(half_a_body(attacked))
        assert line.recv(12) == b"HTTP/1.1 403"
    assert attacked.commands == []


def test_codes_that_never_came_whole_are_no_wrong_codes(attacked: Attacked, monkeypatch: pytest.MonkeyPatch) -> None:
    """Else neighbours on a slow network change the code under the hands of whoever types it."""
    monkeypatch.setattr(page_app, "BODY_S", 0.2)
    with ExitStack() as open_lines:
        for number in range(60):
            line = open_lines.enter_context(attacked.connect(10 + number))
            line.sendall(half_a_body(attacked))
        assert line.recv(12) == b"HTTP/1.1 403"
        assert attacked.look() == 200
    assert attacked.said == []


def test_a_stream_that_is_never_read_leaves_in_time(attacked: Attacked, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its answer waits until both buffers are full; then its time runs."""
    monkeypatch.setattr("pulldrop.page.visitor.UNREAD_S", 0.3)
    with closing(attacked.connect(10)) as line:
        line.settimeout(0.5)
        with pytest.raises((ConnectionError, TimeoutError)):
            for _ in range(100_000):
                line.sendall(b"GET /page.js HTTP/1.1\r\n" + attacked.head + b"\r\n")
        deadline = time.monotonic() + 20
        with pytest.raises(ConnectionError):
            while time.monotonic() < deadline:
                time.sleep(0.05)
                with contextlib.suppress(TimeoutError):
                    line.send(b"x")
    assert attacked.look() == 200


def test_screens_of_one_address_leave_room_for_another_page_of_it(attacked: Attacked) -> None:
    """The bench's own browser comes from the same address as any other program of its machine."""
    with ExitStack() as open_lines:
        lines = [open_lines.enter_context(attacked.connect(1)) for _ in range(SCREENS_OF_ONE + 3)]
        for line in lines:
            line.sendall(a_stream_unread(attacked))
            time.sleep(0.02)
        assert attacked.look(1) == 200
        time.sleep(1.5)
        ended = [line.recv(65536).endswith(b"\r\n0\r\n\r\n") for line in lines]
        assert ended == [True] * 3 + [False] * SCREENS_OF_ONE


NONSENSE = (
    b"\r\n\r\n\x00\xff\x1b]52;c;aGk=\x07\r\n\r\n",
    b"GET / HTTP/9.9\r\n\r\n",
    b"GET \x1b[2J HTTP/1.1\r\nHost: x\r\n\r\n",
    b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
    b"GET /" + b"a" * 200_000 + b" HTTP/1.1\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
    b"POST /press HTTP/1.1\r\nHost: a\r\nContent-Length: -1\r\n\r\n",
    b"POST /press HTTP/1.1\r\nHost: a\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n",
    b"GET / HTTP/1.1\r\nHost: a\r\nConnection: upgrade\r\nUpgrade: websocket\r\n\r\n",
    b"CONNECT evil.example:443 HTTP/1.1\r\nHost: a\r\n\r\n",
)


@pytest.mark.parametrize("nonsense", NONSENSE)
def test_nonsense_moves_nothing_and_never_prints_on_the_benchs_terminal(
    attacked: Attacked, nonsense: bytes, capfd: pytest.CaptureFixture[str]
) -> None:
    with closing(attacked.connect(10)) as line:
        with contextlib.suppress(OSError):
            line.sendall(nonsense)
            line.shutdown(socket.SHUT_WR)
        assert b"SIMULATED" not in everything(line)
    assert attacked.look() == 200
    assert capfd.readouterr() == ("", "") and attacked.said == [] and attacked.commands == []


def everything(line: socket.socket) -> bytes:
    whole = b""
    with contextlib.suppress(OSError):
        while got := line.recv(65536):
            whole += got
    return whole


def test_a_fault_of_the_page_is_one_sentence_however_often_it_happens(
    attacked: Attacked, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> str:
        raise RuntimeError("nothing to draw with")

    monkeypatch.setattr("pulldrop.page.render.Renderer.shell", broken)
    for _ in range(3):
        with closing(http.client.HTTPConnection("127.0.0.1", attacked.port, timeout=30)) as line:
            line.request("GET", "/")
            assert line.getresponse().status == 500
    assert attacked.look() == 200
    assert attacked.said == ["A page could not be answered (RuntimeError: nothing to draw with). The bench goes on."]
    assert capfd.readouterr() == ("", "")


def test_a_neighbour_that_guesses_locks_itself_out_and_nobody_else(attacked: Attacked) -> None:
    wrong = "x" * 6
    answers = [attacked.pair(wrong, 10) for _ in range(WRONG_CODES + 20)]
    assert answers == [403] * WRONG_CODES + [429] * 20
    assert attacked.pair(attacked.page.code, 10) == 429
    assert attacked.pair(attacked.page.code, 11) == 200 and attacked.said == []


def test_many_that_guess_get_another_code_to_guess_at(attacked: Attacked) -> None:
    old = attacked.page.code
    for number in range(WRONG_IN_ALL):
        attacked.pair("x" * 6, 10 + number // 2)
    assert attacked.page.code != old and len(attacked.said) == 1 and attacked.page.code in attacked.said[0]
    assert attacked.pair(attacked.page.code, 200) == 200


@pytest.mark.parametrize(
    "host", ["10.0.0.1:{port}", "evil.example:{port}", "127.0.0.1.nip.example:{port}", "0.0.0.0:{port}"]
)
def test_on_the_network_too_only_the_address_that_was_reached_is_ours(attacked: Attacked, host: str) -> None:
    with closing(http.client.HTTPConnection("127.0.0.1", attacked.port, timeout=30)) as line:
        line.request("GET", "/", headers={"Host": host.format(port=attacked.port)})
        assert line.getresponse().status == 403


def test_a_browser_that_says_the_command_comes_from_elsewhere_is_believed(attacked: Attacked) -> None:
    with closing(http.client.HTTPConnection("127.0.0.1", attacked.port, timeout=30)) as line:
        headers = {"Origin": f"http://127.0.0.1:{attacked.port}", "Sec-Fetch-Site": "cross-site"}
        line.request("POST", "/pair", attacked.page.code, headers)
        assert line.getresponse().status == 403
