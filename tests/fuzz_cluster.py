"""A cluster whose workers are killed again and again: `python tests/fuzz_cluster.py --rounds 5 --seed 1`.

Each round asks for the rigs of a folder, as text or JSON, while workers (which their nannies start again) are killed
at random moments: the bytes and the status must be those of one process without any cluster. Then the same over
`tls://` with certificates made for the occasion. Takes a minute a round, and needs `openssl`.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import psutil
from clusters import ROOT, Started

FOLDERS = ("examples/lessons", "examples/crossings", "examples/incidents")
TLS = "DASK_DISTRIBUTED__COMM__TLS__"
OPENSSL = (
    "req -x509 -newkey rsa:2048 -nodes -days 2 -subj /CN=authority -keyout ca.key -out ca.pem",
    "req -newkey rsa:2048 -nodes -subj /CN=tests -keyout key.pem -out request.pem",
    "x509 -req -in request.pem -CA ca.pem -CAkey ca.key -CAcreateserial -days 2 -out cert.pem",
)


def asked(*words: str) -> tuple[int, bytes, bytes]:
    command = [sys.executable, "-m", "analyser.doors.commands.main", *words]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, check=False, timeout=900)
    return done.returncode, done.stdout, done.stderr


def killing(nannies: list[int], draw: random.Random, over: threading.Event) -> int:
    """Ends one of the workers now and then; how many there were."""
    ended = 0
    while not over.wait(draw.uniform(3.0, 8.0) if ended else draw.uniform(0.5, 2.5)):
        nanny = psutil.Process(draw.choice(nannies))
        for worker in nanny.children(recursive=True):
            if "resource_tracker" not in " ".join(worker.cmdline()):
                os.kill(worker.pid, signal.SIGKILL)
                ended += 1
                break
    return ended


def rounds(number: int, seed: int, workers: int) -> list[str]:
    wrong = []
    with tempfile.TemporaryDirectory() as name, Started(Path(name), workers, nanny=True) as cluster:
        nannies = [one.pid for one in cluster.running[1:]]
        for k in range(number):
            draw = random.Random(f"{seed} {k}")
            words = ["check", draw.choice(FOLDERS), *draw.choice(([], ["--json"], ["--summary"]))]
            here = asked(*words, "--jobs", "1")
            over, ended = threading.Event(), [0]
            thread = threading.Thread(target=lambda: ended.append(killing(nannies, draw, over)))  # noqa: B023
            thread.start()
            begun = time.monotonic()
            there = asked(*words, "--on", cluster.on)
            over.set()
            thread.join()
            same = there == here
            told = f"{'same ' if same else 'WRONG'} {' '.join(words)}: {ended[-1]} workers killed"
            print(f"{told}, {time.monotonic() - begun:.1f} s", flush=True)
            wrong += [] if same else [f"round {k}: {there[0]} {(there[1] + there[2]).decode()[-1000:]}"]
    return wrong


def encrypted() -> list[str]:
    """Over tls, with an authority of its own."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for line in OPENSSL:
            subprocess.run(["openssl", *line.split()], cwd=folder, check=True, capture_output=True)
        with socket.socket() as one:
            one.bind(("127.0.0.1", 0))
            port = str(one.getsockname()[1])
        address = f"tls://127.0.0.1:{port}"
        ours = {f"{TLS}CA_FILE": "ca.pem"}
        for role in ("CLIENT", "SCHEDULER", "WORKER"):
            ours |= {f"{TLS}{role}__CERT": "cert.pem", f"{TLS}{role}__KEY": "key.pem"}
        os.environ.update({key: str(folder / file) for key, file in ours.items()})
        running = []
        there = ("--protocol", "tls", "--host", "127.0.0.1", "--port", port)
        for role, words in (("scheduler", there), ("worker", (address, "--nthreads", "1"))):
            command = [sys.executable, "-m", f"distributed.cli.dask_{role}", *words, "--no-dashboard"]
            running.append(subprocess.Popen(command, cwd=folder, stderr=subprocess.DEVNULL))
        try:
            here = asked("check", FOLDERS[0], "--json", "--jobs", "1")
            told = asked("check", FOLDERS[0], "--json", "--on", f"dask:{address}")
        finally:
            for process in reversed(running):
                process.terminate()
                process.wait()
    print(f"{'same ' if here == told else 'WRONG'} over tls", flush=True)
    return [] if here == told else [f"over tls: {told[0]} {(told[1] + told[2]).decode()[-1000:]}"]


def main() -> int:
    options = argparse.ArgumentParser(description="A cluster whose workers are killed.")
    options.add_argument("--rounds", type=int, default=5)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--workers", type=int, default=3)
    chosen = options.parse_args()
    wrong = [*rounds(chosen.rounds, chosen.seed, chosen.workers), *encrypted()]
    print("\n".join(wrong) or "the same bytes in every round")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
