"""Runs a program where every look-up of a host is heard; a program of its own.

    unshare --net --mount python offline_trap.py FOLDER [--end-after TEXT] COMMAND...

In network and mount namespaces of its own: the only interface is the loopback, and the only
resolver is this process. What was asked for goes to FOLDER/asked, a name a line; the exit code is
the command's own. ``--end-after`` sends it Ctrl-C when it has printed the text, for what serves
until somebody ends it.
"""

import fcntl
import signal
import socket
import struct
import subprocess
import sys
import threading
from pathlib import Path

_READ_FLAGS, _SET_FLAGS, _UP = 0x8913, 0x8914, 1
"""SIOCGIFFLAGS, SIOCSIFFLAGS and IFF_UP of Linux."""


def _loopback_up() -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as any_socket:
        asked = struct.pack("16sh22x", b"lo", 0)
        flags = struct.unpack("16sh22x", fcntl.ioctl(any_socket, _READ_FLAGS, asked))[1]
        fcntl.ioctl(any_socket, _SET_FLAGS, struct.pack("16sh22x", b"lo", flags | _UP))


def _instead(path: str, text: str, folder: Path) -> None:
    """Lay a file over one of the system's, in this namespace alone."""
    ours = folder / Path(path).name
    ours.write_text(text)
    subprocess.run(["mount", "--bind", str(ours), path], check=True)


def _name(query: bytes) -> str:
    """The name in a query (RFC 1035, section 4.1.2), which begins behind 12 bytes of header."""
    labels, at = [], 12
    while length := query[at]:
        labels.append(query[at + 1 : at + 1 + length].decode("ascii", "replace"))
        at += 1 + length
    return ".".join(labels)


def _hear(resolver: socket.socket, asked: Path) -> None:
    """Note each name; the answer is that there is none, so that nobody waits for it."""
    while True:
        query, sender = resolver.recvfrom(4096)
        with asked.open("a") as file:
            file.write(f"{_name(query)}\n")
        resolver.sendto(query[:2] + b"\x81\x83" + query[4:6] + bytes(6) + query[12:], sender)


def main(folder: Path, end_after: str | None, command: list[str]) -> int:
    """The command's exit code."""
    _loopback_up()
    _instead("/etc/resolv.conf", "nameserver 127.0.0.1\noptions timeout:1 attempts:1\n", folder)
    if Path("/etc/nsswitch.conf").is_file():  # else a resolver of the system's could be asked
        _instead("/etc/nsswitch.conf", "hosts: files dns\n", folder)
    resolver = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    resolver.bind(("127.0.0.1", 53))
    asked = folder / "asked"
    asked.touch()
    threading.Thread(target=_hear, args=(resolver, asked), daemon=True).start()
    if end_after is None:
        return subprocess.run(command, check=False).returncode
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    for line in process.stdout:
        print(line, end="")
        if end_after in line:
            break
    while True:  # it may not listen to Ctrl-C yet
        process.send_signal(signal.SIGINT)
        try:
            return process.wait(2)
        except subprocess.TimeoutExpired:
            continue


if __name__ == "__main__":
    where, *rest = sys.argv[1:]
    after = None
    if rest[0] == "--end-after":
        after, rest = rest[1], rest[2:]
    sys.exit(main(Path(where), after, rest))
