"""One at a time: a lock file beside the fleet, and what was begun by whoever did not end it."""

from __future__ import annotations

import json
import os
import secrets
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from stockopt.errors import StockoptError

#: A lock this old, in seconds, was left by someone who did not end; entries take a second or two.
STALE_SECONDS = 600.0
#: The right to clear a stale lock is itself given up after so many seconds.
_CLEARING_SECONDS = 30.0
_POLL_SECONDS = 0.05

Found = dict[str, Any]


def lock_path(fleet: Path) -> Path:
    """Return where the lock of a fleet stands: hidden in its folder, or beside its workbook."""
    if fleet.is_dir():
        return fleet / ".stockopt.lock"
    return fleet.with_name(f".{fleet.name}.stockopt.lock")


@contextmanager
def locked(fleet: Path, *, wait_seconds: float) -> Iterator[Path]:
    """Hold the lock of a fleet.

    Parameters
    ----------
    fleet
        Folder or workbook.
    wait_seconds
        How long to wait for whoever holds it.

    Yields
    ------
    Path
        The lock file, in which moves are noted before they are made (:func:`note_moves`).

    Raises
    ------
    StockoptError
        It was not to be had in time; says who holds it since when.

    Notes
    -----
    A lock is stale, and is cleared, when its process on this computer no longer runs, or when it
    is older than `STALE_SECONDS`. Moves noted in a stale lock are finished first, so that an entry
    into two tables is never half made.
    """
    path, until = lock_path(fleet), time.monotonic() + wait_seconds
    mine = secrets.token_hex(8)
    while not _take(path, mine):
        found = _read(path)
        if found is not None and _is_stale(path, found):
            _clear(path, found)
        elif time.monotonic() > until:
            who = f"{(found or {}).get('user', 'somebody')} on {(found or {}).get('host', '?')}"
            raise StockoptError(
                f"The books are being written by {who} (lock file {path}). Try again; a lock that "
                f"nobody holds is cleared after {STALE_SECONDS / 60:.0f} minutes. "
                "Nothing was written."
            )
        else:
            time.sleep(_POLL_SECONDS * (0.5 + secrets.randbelow(100) / 100.0))
    try:
        yield path
    finally:
        if (_read(path) or {}).get("token") == mine:
            path.unlink(missing_ok=True)


def note_moves(lock: Path, moves: list[tuple[Path, Path]]) -> None:
    """Note in the lock what is about to be moved where."""
    found = _read(lock) or {}
    found["moves"] = [[str(beside), str(target)] for beside, target in moves]
    beside = lock.with_name(f"{lock.name}.{secrets.token_hex(4)}")
    beside.write_text(json.dumps(found), encoding="utf-8")
    os.replace(beside, lock)  # noqa: PTH105 - the atomic move itself


def make_moves(moves: list[tuple[Path, Path]]) -> None:
    """Move every file into place."""
    for beside, target in moves:
        os.replace(beside, target)  # noqa: PTH105 - the atomic move itself


def _take(path: Path, token: str) -> bool:
    content = {
        "token": token,
        "pid": os.getpid(),
        "host": socket.gethostname(),
        "user": os.environ.get("USER") or os.environ.get("USERNAME") or "somebody",
        "moves": [],
    }
    # Written beside and linked, so that nobody ever reads half a lock.
    beside = path.with_name(f"{path.name}.{token}")
    beside.write_text(json.dumps(content), encoding="utf-8")
    try:
        return _put(beside, path)
    finally:
        beside.unlink(missing_ok=True)


def _put(beside: Path, path: Path) -> bool:
    """Give the file its name, unless another has it."""
    try:
        os.link(beside, path)
    except FileExistsError:
        return False
    except OSError:  # a file system without hard links
        try:
            with path.open("x", encoding="utf-8") as lock:
                lock.write(beside.read_text(encoding="utf-8"))
        except FileExistsError:
            return False
    return True


def _read(path: Path) -> Found | None:
    """Return what a lock says; None where there is none, nothing where it cannot be read."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return None
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def _is_stale(path: Path, found: Found) -> bool:
    try:
        age = time.time() - path.stat().st_mtime
    except OSError:
        return False
    if age > STALE_SECONDS:
        return True
    return found.get("host") == socket.gethostname() and not _runs(found.get("pid"))


def _runs(pid: object) -> bool:
    """Tell whether a process of this computer still runs; True where that cannot be known."""
    if not isinstance(pid, int) or os.name != "posix":
        return True
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _clear(path: Path, found: Found) -> None:
    """Finish what a stale lock began and remove it; one process at a time does that."""
    right = path.with_name(f"{path.name}.clearing")
    try:
        right.touch(exist_ok=False)
    except OSError:
        with suppress(OSError):
            if time.time() - right.stat().st_mtime > _CLEARING_SECONDS:
                right.unlink(missing_ok=True)
        time.sleep(_POLL_SECONDS)
        return
    try:
        if _read(path) == found:
            begun = [(Path(beside), Path(target)) for beside, target in found.get("moves", [])]
            make_moves([move for move in begun if move[0].exists()])
            path.unlink(missing_ok=True)
    finally:
        right.unlink(missing_ok=True)
