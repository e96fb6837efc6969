"""The serial line of an emulated board: a pty, whose other end any serial client opens; with noise when asked for."""

import contextlib
import errno
import os
import pty
import tty

LATE_BYTES = 65_536  # a client that reads nothing loses what comes after


class SerialLine:
    """`path` is what the client opens. Bytes that the line cannot take yet wait here."""

    def __init__(self) -> None:
        self.fd, self._client_fd = pty.openpty()
        tty.setraw(self._client_fd)  # kept open: a client may come, go and come again
        os.set_blocking(self.fd, False)
        self.path = os.ttyname(self._client_fd)
        self.plugged = True
        self._late = b""
        self._noise = {"in": 0, "out": 0}

    def garble(self, way: str, count: int) -> None:
        """Damage the next `count` bytes, `in` to the board or `out` of it."""
        self._noise[way] += count

    def read(self) -> bytes:
        """What the client has written since the last call."""
        if not self.plugged:
            return b""
        try:
            return self._damaged("in", os.read(self.fd, 4096))
        except OSError as error:
            if error.errno in (errno.EAGAIN, errno.EIO):
                return b""
            raise

    def write(self, data: bytes) -> None:
        """Bytes to the client; unplugged, they go nowhere."""
        if not self.plugged or not (data or self._late):
            return
        self._late = (self._late + self._damaged("out", data))[-LATE_BYTES:]
        with contextlib.suppress(BlockingIOError):
            self._late = self._late[os.write(self.fd, self._late) :]

    def unplug(self) -> None:
        """The cable comes out: the client's end hangs up."""
        if self.plugged:
            self.plugged = False
            os.close(self.fd)
            os.close(self._client_fd)

    def _damaged(self, way: str, data: bytes) -> bytes:
        count = min(self._noise[way], len(data))
        self._noise[way] -= count
        return bytes(byte ^ 0x15 for byte in data[:count]) + data[count:]
