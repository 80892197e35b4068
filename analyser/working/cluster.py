"""A cluster of dask.distributed as a place where work is done: `--on dask:ADDRESS`.

Its own executor takes the work. Pieces whose worker dies are given to another one by its scheduler; here it is only
seen to that nothing but bytes travels, that nothing leaves this machine in the clear, that every worker is made of the
same as this process, and that what goes wrong is told in a sentence, in a bounded time.
"""

from __future__ import annotations

import ipaddress
import logging
import re
import ssl
import threading
import time
from collections.abc import Iterator
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future
from contextlib import contextmanager, suppress
from functools import partial
from typing import TYPE_CHECKING, Any

from analyser.working.errands import done, made_of
from analyser.working.packing import NotCarried, packed, unpacked
from analyser.working.place import NoWork

if TYPE_CHECKING:
    from distributed import Client

REACHED = 10.0
"""Seconds in which a scheduler must answer, and in which its first worker must be there."""
NOBODY = 60.0
"""Seconds without a single worker after which nobody waits any longer."""
LOOKED = 2.0
"""Seconds between two looks at whether anybody is there."""
ADDRESS = re.compile(r"(?:(?P<by>[a-z+]+)://)?(?P<host>\[[0-9a-fA-F:.%]+\]|[^\s:/@\[\]]+):(?P<port>[0-9]{1,5})")
CERTIFICATES = {"tls_ca_file": "ca-file", "tls_client_cert": "client.cert", "tls_client_key": "client.key"}
"""Of distributed's own configuration, under `distributed.comm.tls`."""


def address_of(text: str) -> str:
    """The address of a scheduler in `dask:ADDRESS`; raises `NoWork` for one that can't be used."""
    engine, _, address = text.partition(":")
    found = ADDRESS.fullmatch(address)
    if engine != "dask" or found is None or not 0 < int(found["port"]) < 65_536:
        raise NoWork(f"`--on {text}` names no cluster", "write `--on dask:tls://HOST:PORT`, of a dask scheduler")
    by = found["by"] or "tcp"
    if by == "tls":
        return address
    if by != "tcp":
        raise NoWork(f"`--on {text}`: `{by}://` is not spoken here", f"write `--on dask:{_by_tls(found)}`")
    if not _here(found["host"]):
        text = f"`--on {text}`: without encryption nothing is sent to another machine"
        raise NoWork(text, f"write `--on dask:{_by_tls(found)}`, with certificates (analyser/working/cluster.md)")
    return f"tcp://{found['host']}:{found['port']}"


def _by_tls(found: re.Match[str]) -> str:
    return f"tls://{found['host']}:{found['port']}"


def _here(host: str) -> bool:
    """Is it this machine, whoever is asked?"""
    with suppress(ValueError):
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    return host == "localhost"


class Cluster:
    """The workers of a scheduler."""

    far, works_for_another = True, False

    def __init__(self, client: Client, shown: str) -> None:
        self.client, self.shown = client, shown

    def workers(self, most: int | None) -> int:
        return max(len(self.client.nthreads()), 1)

    @contextmanager
    def pool(self, workers: int) -> Iterator[Executor]:
        pool = _Errands(self.client.get_executor(), self)
        try:
            yield pool
        except BaseException:
            pool.shutdown(wait=False)  # nobody waits for the rest: its futures are let go
            raise
        pool.shutdown()

    def check(self) -> None:
        """Raises `NoWork` where a worker isn't made of what this process is made of, or is spoken to in the clear."""
        for address in self.client.nthreads():
            found = ADDRESS.fullmatch(address)
            if found is None or not (found["by"] == "tls" or (found["by"] == "tcp" and _here(found["host"]))):
                text = f"{self.shown}: its worker {address} is spoken to without encryption"
                raise NoWork(text, "start the scheduler and its workers with `tls://` (analyser/working/cluster.md)")
        for address, there in sorted(self.client.run(made_of, on_error="return").items()):
            if there != made_of():
                raise self.other(there, f"the worker {address}")

    def other(self, there: object, who: str = "a worker") -> NoWork:
        """Why a worker is of no use."""
        here = made_of()
        if isinstance(there, dict):
            other = [key for key in here if there.get(key) != here[key]]
            unlike = ", ".join(f"{key} {there.get(key)} (here {here[key]})" for key in other)
        else:
            unlike = f"no such stillheld there ({type(there).__name__}; here {here['stillheld']})"
        text = f"{self.shown}: {who} would give other answers: {unlike}"
        return NoWork(text, "install the very same there, and start the workers again")


class _Errands(Executor):
    """dask's executor, given nothing but bytes."""

    def __init__(self, inner: Executor, cluster: Cluster) -> None:
        self.inner, self.cluster = inner, cluster
        self.waiting: set[Future[Any]] = set()
        self.over = threading.Event()
        self.guard = threading.Thread(target=self._look, name="anybody there", daemon=True)
        self.guard.start()

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        told: Future[Any] = Future()
        self.waiting.add(told)
        sent = self.inner.submit(done, made_of(), packed((partial(fn, **kwargs) if kwargs else fn, args)))
        sent.add_done_callback(partial(self._arrived, told))
        return told

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        self.over.set()
        self.inner.shutdown(wait=wait)

    def _arrived(self, told: Future[Any], sent: Future[Any]) -> None:
        try:
            there, data = sent.result()
            if there:
                self._tell(told, None, self.cluster.other(there))
            else:
                self._tell(told, unpacked(data), None)
        except BaseException as raised:
            self._tell(told, None, self._why(raised))

    def _tell(self, told: Future[Any], answer: Any, error: BaseException | None) -> None:
        self.waiting.discard(told)
        with suppress(Exception):  # told already that nobody is there
            told.set_exception(error) if error else told.set_result(answer)

    def _why(self, raised: BaseException) -> BaseException:
        from distributed import KilledWorker

        if isinstance(raised, KilledWorker):
            return BrokenExecutor(str(raised))
        if isinstance(raised, CancelledError):
            return self._gone()
        if isinstance(raised, NotCarried) or not isinstance(raised, Exception):
            return NoWork(f"{self.cluster.shown}: {raised}")
        return raised

    def _gone(self) -> NoWork:
        return NoWork(f"{self.cluster.shown}: the scheduler went away before all was done", "start it, and ask again")

    def _look(self) -> None:
        """Tells whoever waits that there is nobody left."""
        seen = time.monotonic()
        while not self.over.wait(LOOKED):
            client = self.cluster.client
            if client.status in ("closed", "closing"):
                return self._give_up(self._gone())
            with suppress(Exception):  # it is looked for by dask meanwhile
                seen = time.monotonic() if client.nthreads() else seen
            if time.monotonic() - seen > NOBODY:
                text = f"{self.cluster.shown}: there has been no worker for {NOBODY:.0f} s, and not all was done"
                return self._give_up(NoWork(text, "start workers, and ask again"))
        return None

    def _give_up(self, why: NoWork) -> None:
        for told in list(self.waiting):
            self._tell(told, None, why)


@contextmanager
def opened(text: str) -> Iterator[Cluster]:
    """The cluster that `dask:ADDRESS` names. Raises `NoWork`: an address that can't be used, a package or a
    certificate that is missing, a scheduler that doesn't answer, no worker, or one that isn't made of the same."""
    address = address_of(text)
    try:
        from distributed import Client, Security
    except ImportError:
        raise NoWork("`--on` needs a package that isn't here", "pip install 'stillheld[cluster]'") from None
    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # what matters of it is said in a sentence of ours
    secured = Security()
    if address.startswith("tls:"):
        _certified(secured, text)
    client: Client | None = None
    try:
        client = Client(address, timeout=REACHED, security=secured, set_as_default=False)
        client.wait_for_workers(1, timeout=REACHED)
    except (OSError, TimeoutError, ValueError) as error:
        if client is None:
            ours = ", and whether its certificate is of the same authority" if address.startswith("tls:") else ""
            hint = f"start one (`dask scheduler`), or see whether the address is right{ours}"
            raise NoWork(f"{text}: no dask scheduler answers there", hint) from error
        client.close(timeout=1)
        raise NoWork(f"{text}: no worker has come there", f"start one: `dask worker {address} --nthreads 1`") from error
    with client:
        cluster = Cluster(client, text)
        cluster.check()
        yield cluster


def _certified(secured: Any, text: str) -> None:
    """Raises `NoWork` where certificates aren't named, or can't be used."""
    missing = [name for key, name in CERTIFICATES.items() if not getattr(secured, key)]
    told = [f"DASK_DISTRIBUTED__COMM__TLS__{name.upper().replace('-', '_').replace('.', '__')}" for name in missing]
    if missing:
        hint = f"set {', '.join(told)} (analyser/working/cluster.md)"
        raise NoWork(f"{text}: `tls://` needs certificates, and these aren't named", hint)
    try:
        secured.get_connection_args("client")
    except (OSError, ssl.SSLError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        names = ", ".join(f"`{getattr(secured, key)}`" for key in CERTIFICATES)
        raise NoWork(f"{text}: its certificates can't be used: {reason}", f"look at {names}") from None
