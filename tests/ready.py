"""Commands in processes of their own that are ready at once: a server that has imported the program forks one for each.

A command reads, writes, prints and ends as ever; only the start of Python and the comparisons of the models with
published findings, which rest on the program alone, are left out. Where the start itself is tested (a locale, a seed of
hashes, limits of a process, modules in its folder), tests start Python (tests/building.py).

    python -I -S tests/ready.py SOCKET WORDS     runs ``handbook WORDS`` by the server at SOCKET, for scripts of a shell
"""

from __future__ import annotations

import json
import os
import select
import socket
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

#: Python and the C library read these variables when they start.
AT_START = ("PYTHON", "LC_", "LANG", "LD_", "TZ")


@contextmanager
def commands_ready(place: Path, env: dict[str, str]) -> Iterator[Path]:
    """The socket of a server in the folder ``place`` whose commands start in the environment ``env``."""
    at = place / "commands"
    server = subprocess.Popen(
        [sys.executable, "-m", "tests.ready", "--serve", str(at)], env=env, stdout=subprocess.PIPE
    )
    try:
        assert server.stdout.readline() == b"ready\n"
        yield at
    finally:
        with socket.socket(socket.AF_UNIX) as end, suppress(OSError):
            end.connect(str(at))
        server.communicate()


def is_as_started(env: dict[str, str], server: dict[str, str]) -> bool:
    """Whether Python starts alike in both environments."""
    return all(env.get(name) == server.get(name) for name in env.keys() | server.keys() if name.startswith(AT_START))


class Command:
    """``handbook WORDS``, started with the three standard ``files``: of ``subprocess.Popen`` what tests use."""

    def __init__(self, at: Path | str, words: Sequence[str], cwd: str, env: dict[str, str], files: Sequence[int]):
        self._server = socket.socket(socket.AF_UNIX)
        self._server.connect(str(at))
        given = json.dumps([words, cwd, env]).encode()
        socket.send_fds(self._server, [b"%d\n" % len(given)], files)
        self._server.sendall(given)
        self.pid, self.returncode = self._number(), None

    def poll(self) -> int | None:
        """The code of the command (negative: the signal), None while it runs."""
        if self.returncode is None and select.select([self._server], [], [], 0)[0]:
            self.wait()
        return self.returncode

    def wait(self, timeout: float | None = None) -> int:
        """The code of the command, once it has ended. Raises TimeoutError."""
        if self.returncode is None:
            self._server.settimeout(timeout)
            self.returncode = self._number()
            self._server.close()
        return self.returncode

    def _number(self) -> int:
        said = b""
        while not said.endswith(b"\n"):
            said += self._server.recv(1) or b"-9\n"
        return int(said)


def serve(at: str) -> bool:
    """Fork a process for each command. Returns in that process, True where it is to run the command, and at the end."""
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(at)
        server.listen()
        print("ready", flush=True)
        while True:
            client, _ = server.accept()
            size, files, *_ = socket.recv_fds(client, 1, 3)
            if not size:
                break
            if not os.fork():
                server.close()
                return _is_command(client, size, files)
            client.close()
            for each in files:
                os.close(each)
            with suppress(ChildProcessError):
                while os.waitpid(-1, os.WNOHANG)[0]:
                    pass
    with suppress(ChildProcessError):
        while os.wait():
            pass
    return False


def _is_command(client: socket.socket, size: bytes, files: list[int]) -> bool:
    """True in the process that is to run the command; the process before it tells the other side how that ended."""
    with client, client.makefile("rwb") as said:
        words, cwd, env = json.loads(said.read(int(size + said.readline())))
        child = os.fork()
        if child:
            for each in files:
                os.close(each)
            said.write(b"%d\n" % child)
            said.flush()
            said.write(b"%d\n" % os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
            return False
    _become(words, cwd, env, files)
    return True


def _become(words: list[str], cwd: str, env: dict[str, str], files: list[int]) -> None:
    os.setsid()
    for number, each in enumerate(files):
        os.dup2(each, number)
        os.close(each)
    os.chdir(cwd)
    os.environ.clear()
    os.environ.update(env)
    sys.argv[1:] = words


def _imported() -> None:
    """Import all that any command imports, and compare the models."""
    import gc
    from importlib import import_module
    from pkgutil import walk_packages

    import handbook
    import site_build
    from handbook.validation.comparisons import standings

    for package in (handbook, site_build):
        for each in walk_packages(package.__path__, f"{package.__name__}."):
            if not each.name.endswith("__main__"):
                import_module(each.name)
    standings()
    gc.freeze()  # a process that is forked shares what its collections do not touch


def _main() -> None:
    if sys.argv[1] != "--serve":
        at, *words = sys.argv[1:]
        code = Command(at, words, os.getcwd(), dict(os.environ), (0, 1, 2)).wait()
        sys.exit(code if code >= 0 else 128 - code)
    _imported()
    from site_build.cli.main import main

    if serve(sys.argv[2]):
        main(prog_name="handbook")


if __name__ == "__main__":
    _main()
