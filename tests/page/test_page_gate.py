"""What the server refuses, asked byte by byte without a browser that would be polite about it."""

import http.client
import json
import socket
from collections.abc import Iterator
from contextlib import closing
from urllib.parse import urlsplit

import crate_views
import pytest
from screens import Bench
from work_time import within

from pulldrop.model.crate.crate import Command, Control
from pulldrop.page import Page, PageError, served
from pulldrop.page.app import FILES, LONGEST
from pulldrop.page.gate import HEADERS, Gate


class Line:
    """Requests to one page, with any headers."""

    def __init__(self, page: Page) -> None:
        self.host = f"127.0.0.1:{urlsplit(page.address).port}"
        self.cookie = ""

    def ask(self, method: str, path: str, body: str = "", **headers: str) -> tuple[int, str, dict[str, str]]:
        sent = {"Host": self.host, "Cookie": self.cookie} | headers
        with closing(http.client.HTTPConnection(self.host, timeout=60)) as line:
            line.request(method, path, body.encode(), sent)
            answer = line.getresponse()
            return answer.status, answer.read().decode(), {name.lower(): text for name, text in answer.getheaders()}

    def post(self, path: str, body: str, **headers: str) -> tuple[int, str]:
        status, text, _ = self.ask("POST", path, body, **{"Origin": f"http://{self.host}"} | headers)
        return status, text

    def pair(self, code: str) -> None:
        _, _, headers = self.ask("POST", "/pair", code, Origin=f"http://{self.host}")
        self.cookie = headers["set-cookie"].split(";")[0]


@pytest.fixture
def line(bench: Bench) -> Line:
    return Line(bench.page)


GO = json.dumps({"control": "go", "seen": crate_views.INSERT.version})


def test_every_answer_carries_the_headers_that_keep_others_out(line: Line) -> None:
    for path in ("/", *(f"/{name}" for name in FILES), "/nothing", "/bench/wrong"):
        _, _, headers = line.ask("GET", path)
        assert headers | HEADERS == headers, path
    policy = HEADERS["content-security-policy"]
    assert "default-src 'none'" in policy and "unsafe" not in policy and "nonce" not in policy


def test_the_page_has_no_script_and_no_style_of_its_own_and_asks_nobody_else(line: Line) -> None:
    whole = "".join(line.ask("GET", path)[1] for path in ("/", *(f"/{name}" for name in FILES)))
    shell = line.ask("GET", "/")[1]
    assert "<style" not in shell and "style=" not in shell and " on" not in shell.split("<body")[0]
    assert "<script>" not in shell
    assert "http" not in whole.replace("http://www.w3.org/2000/svg", "")


FOREIGN = (
    "evil.example",
    "evil.example:{port}",
    "192.168.1.9:{port}",
    "127.0.0.1",
    "127.0.0.1:1",
    "x@127.0.0.1:{port}",
)


@pytest.mark.parametrize("host", [*FOREIGN, ""])
def test_a_name_that_was_bent_to_lead_here_gets_nothing(line: Line, host: str) -> None:
    port = line.host.split(":")[1]
    status, text, _ = line.ask("GET", "/", Host=host.format(port=port))
    assert status == 403
    assert "SIMULATED" not in text


@pytest.mark.parametrize("host", ["localhost:{port}", "[::1]:{port}"])
def test_this_machine_is_ours_by_each_of_its_usual_names(line: Line, host: str) -> None:
    assert line.ask("GET", "/", Host=host.format(port=line.host.split(":")[1]))[0] == 200


def test_on_the_network_the_number_that_was_reached_is_ours_and_no_other_and_no_name() -> None:
    gate = Gate(lambda *_: None, 8737)  # type: ignore[arg-type, return-value]  # never called here
    for reached in ("192.168.1.9", "fe80::1"):
        host = f"[{reached}]" if ":" in reached else reached
        assert gate.is_ours(f"{host}:8737", reached) and gate.is_ours("localhost:8737", reached)
        for other in ("evil.example:8737", f"{host}:80", "192.168.1.10:8737", "[fe80::2]:8737"):
            assert not gate.is_ours(other, reached)


def test_with_lan_others_look_by_number_and_the_benchs_link_is_for_this_machine_only() -> None:
    with served(lambda _command: "", print, lan=True, port=0) as page:
        page.show(crate_views.INSERT)
        host = urlsplit(page.address).netloc
        near = host.startswith("127.")  # on a machine without a network
        with closing(http.client.HTTPConnection(host, timeout=60)) as line:
            line.request("GET", "/")
            assert line.getresponse().status == 200
        with closing(http.client.HTTPConnection(host, timeout=60)) as line:
            line.request("GET", urlsplit(page.bench_link).path)
            assert line.getresponse().status == (303 if near else 403)


def test_without_lan_nothing_listens_on_the_network(bench: Bench) -> None:
    port = urlsplit(bench.page.address).port
    with pytest.raises(OSError), closing(socket.create_server(("127.0.0.1", port or 0))):
        pass
    with closing(socket.create_server(("127.0.0.2", port or 0))):
        """Free: the page has bound the one address only."""


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://localhost:1", "https://{host}", ""])
def test_a_command_from_another_page_moves_nothing(bench: Bench, line: Line, origin: str) -> None:
    line.pair(bench.page.code)
    assert line.post("/press", GO, Origin=origin.format(host=line.host))[0] == 403
    assert line.ask("POST", "/press", GO)[0] == 403, "no origin at all"
    assert bench.commands == []


def test_only_a_controller_presses(bench: Bench, line: Line) -> None:
    assert line.post("/press", GO)[0] == 403
    line.cookie = "pulldrop_controller=made-up"
    assert line.post("/press", GO)[0] == 403
    assert bench.commands == []
    line.pair(bench.page.code)
    assert line.post("/press", GO)[0] == 200
    assert bench.commands == [Command(control=Control.GO, seen=crate_views.INSERT.version)]


def test_the_cookie_is_out_of_reach_of_scripts_and_of_other_sites(bench: Bench, line: Line) -> None:
    _, _, headers = line.ask("POST", "/pair", bench.page.code, Origin=f"http://{line.host}")
    assert "HttpOnly" in headers["set-cookie"] and "SameSite=strict" in headers["set-cookie"]
    assert bench.page.code.replace(" ", "") not in headers["set-cookie"]


def test_wrong_codes_are_counted(bench: Bench, line: Line) -> None:
    answers = [line.post("/pair", "nonsense")[0] for _ in range(6)]
    assert answers == [403] * 5 + [429]
    assert line.post("/pair", bench.page.code)[0] == 429


NONSENSE = ("", "{}", "go", "[]", '{"control": "explode"}', '{"control": "go", "seen": -1}')
TOO_LONG = '{"control": "note", "text": "' + "x" * LONGEST + '"}'


@pytest.mark.parametrize("body", [*NONSENSE, TOO_LONG])
def test_nonsense_is_no_command(bench: Bench, line: Line, body: str) -> None:
    line.pair(bench.page.code)
    assert line.post("/press", body)[0] == 400
    assert bench.commands == []


def test_what_the_bench_refuses_is_told_to_whoever_pressed(bench: Bench, line: Line) -> None:
    line.pair(bench.page.code)
    bench.refusal = "The bench has moved on."
    assert line.post("/press", GO) == (409, "The bench has moved on.")
    assert bench.commands == []


def test_the_benchs_link_makes_a_controller_of_a_browser_on_this_machine(bench: Bench, line: Line) -> None:
    status, _, headers = line.ask("GET", urlsplit(bench.page.bench_link).path)
    assert (status, headers["location"]) == (303, "/")
    line.cookie = headers["set-cookie"].split(";")[0]
    assert line.post("/press", GO)[0] == 200
    assert line.ask("GET", "/bench/guess")[0] == 403


def test_a_page_that_only_shows_takes_nothing() -> None:
    with served(None, print, port=0) as page:
        page.show(crate_views.ENDED)
        line = Line(page)
        assert line.post("/pair", page.code)[0] == 409
        assert line.post("/press", GO)[0] == 409
        assert "pair-open" not in line.ask("GET", "/")[1]


@pytest.mark.parametrize(
    "path", ["/parts", "/parts?q=horn", "/parts/23Y", "/runs/20261125T0900-1a2b", "/fleet?every=6"]
)
def test_whoever_asks_for_parts_while_a_crate_is_sorted_hears_why_not_and_what_to_do(line: Line, path: str) -> None:
    status, text, headers = line.ask("GET", path)
    assert status == 503 and headers | HEADERS == headers
    assert "while the bench tests" in text and "Open / for the bench" in text and "pulldrop page" in text


def test_a_taken_port_is_told_with_what_to_do(bench: Bench) -> None:
    taken = int(bench.page.address.rsplit(":", 1)[1])
    with pytest.raises(PageError, match=f"port {taken}.*--port"), served(None, print, port=taken):
        pass


def test_words_of_people_are_shown_and_never_obeyed(bench: Bench, line: Line) -> None:
    evil = "<script>alert(1)</script><img src=x onerror=alert(1)>"
    bench.show(crate_views.view(5, crate_views.Stage.INSERT, evil, evil, reasons=(evil,), crate=evil))
    event = next(events(line))
    assert "<script" not in event["html"] and "<img" not in event["html"]
    assert "&lt;script&gt;" in event["html"]


def events(line: Line) -> Iterator[dict[str, str]]:
    """The views of the stream, as they come."""
    with closing(http.client.HTTPConnection(line.host, timeout=60)) as stream:
        stream.request("GET", "/events", headers={"Host": line.host})
        for row in stream.getresponse():
            if row.startswith(b"data: "):
                yield json.loads(row[6:])


def test_every_event_carries_the_whole_view_and_a_slow_screen_gets_the_newest(bench: Bench, line: Line) -> None:
    stream = events(line)
    assert next(stream)["version"] == crate_views.INSERT.version
    for version in range(100, 1100):
        bench.show(crate_views.INSERT.model_copy(update={"version": version}))
    got = next(stream)
    assert got["version"] == 1099
    assert "SIMULATED" in got["html"] and "shed 4, shelf 2" in got["html"]


def test_the_bench_never_waits_for_a_screen_that_does_not_read(bench: Bench, line: Line) -> None:
    """Twenty screens ask for the stream and never read it, while ten thousand views are shown."""
    host, port = line.host.split(":")
    sleepers = [socket.create_connection((host, int(port))) for _ in range(20)]
    for one in sleepers:
        one.sendall(f"GET /events HTTP/1.1\r\nHost: {line.host}\r\n\r\n".encode())

    def show_all() -> None:
        for version in range(1, 10_001):
            bench.show(crate_views.INSERT.model_copy(update={"version": version}))

    within(2.0, show_all)
    assert next(events(line))["version"] == 10_000
    for one in sleepers:
        one.close()


def test_the_last_view_still_reaches_a_screen_when_the_page_ends() -> None:
    with served(None, print, port=0) as page:
        page.show(crate_views.INSERT)
        stream = events(Line(page))
        assert next(stream)["version"] == crate_views.INSERT.version
        page.show(crate_views.ENDED)
    assert [view["version"] for view in stream] == [crate_views.ENDED.version]
