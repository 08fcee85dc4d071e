"""Commands in processes of their own that are ready at once: a server that has imported the program forks one for each.

A command reads, writes, prints and ends as ever; only the start of Python and the comparisons of the models with
published findings, which rest on the program alone, are left out. Where the start itself is tested (a locale, a seed of
hashes, limits of a process, modules in its folder), tests start Python (tests/building.py).

    python -I -S tests/ready.py SOCKET WORDS     runs ``handbook WORDS`` by the server at SOCKET, for scripts of a shell
"""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
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
        server.terminate()
        server.communicate()


def is_as_started(env: dict[str, str], server: dict[str, str]) -> bool:
    """Whether Python starts alike in both environments."""
    return all(env.get(name) == server.get(name) for name in env.keys() | server.keys() if name.startswith(AT_START))


def run(at: Path | str, words: Sequence[str], cwd: str, env: dict[str, str], files: Sequence[int]) -> int:
    """Run ``handbook WORDS`` to its end with the three standard ``files``. Returns its code (negative: the signal)."""
    with socket.socket(socket.AF_UNIX) as server:
        server.connect(str(at))
        socket.send_fds(server, [b"\n"], files)
        with server.makefile("rw", encoding="ascii") as said:
            said.write(json.dumps([words, cwd, env]) + "\n")
            said.flush()
            return int(said.readline())


def serve(at: str) -> None:
    """Fork a process for each command, one after the other. Returns in that process, which is to run it."""
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(at)
        server.listen()
        print("ready", flush=True)
        while True:
            client, _ = server.accept()
            _, files, *_ = socket.recv_fds(client, 1, 3)
            with client, client.makefile("rw", encoding="ascii") as said:
                words, cwd, env = json.loads(said.readline())
                child = os.fork()
                if not child:
                    break
                for each in files:
                    os.close(each)
                said.write(f"{os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])}\n")
    _become(words, cwd, env, files)


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
        code = run(at, words, os.getcwd(), dict(os.environ), (0, 1, 2))
        sys.exit(code if code >= 0 else 128 - code)
    _imported()
    serve(sys.argv[2])
    from site_build.cli.main import main

    main(prog_name="handbook")


if __name__ == "__main__":
    _main()
