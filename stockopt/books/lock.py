"""One at a time: a lock file beside the fleet, and what was begun by whoever did not end it."""

from __future__ import annotations

import ctypes
import json
import os
import secrets
import socket
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import Any

from stockopt.errors import StockoptError

#: The right to clear a stale lock is itself given up after so many seconds.
_CLEARING_SECONDS = 30.0
_POLL_SECONDS = 0.05
#: An entry takes a second or two: whoever held the lock so long may be taken over if told so.
_TAKE_OVER_SECONDS = 5.0
# What Windows calls the right to ask after a process, "no such process" and "it still runs":
# PROCESS_QUERY_LIMITED_INFORMATION, ERROR_INVALID_PARAMETER and STILL_ACTIVE; from memory.
_MAY_ASK, _NO_SUCH_PROCESS, _STILL_ACTIVE = 0x1000, 87, 259

Found = dict[str, Any]


def lock_path(fleet: Path) -> Path:
    """Return where the lock of a fleet stands: hidden in its folder, or beside its workbook."""
    if fleet.is_dir():
        return fleet / ".stockopt.lock"
    return fleet.with_name(f".{fleet.name}.stockopt.lock")


@contextmanager
def locked(fleet: Path, *, wait_seconds: float, take_over: bool = False) -> Iterator[Path]:
    """Hold the lock of a fleet.

    Parameters
    ----------
    fleet
        Folder or workbook.
    wait_seconds
        How long to wait for whoever holds it.
    take_over
        True to clear the lock of someone who, as the person says, does not write any more; he has
        a few seconds to end all the same.

    Yields
    ------
    Path
        The lock file, in which moves are noted before they are made (:func:`note_moves`).

    Raises
    ------
    StockoptError
        It was not to be had in time; says who holds it since when, and what to do.

    Notes
    -----
    A lock is stale, and is cleared, when its process on this computer no longer runs. Of a process
    on another computer nobody here can tell: its lock stays until the person says so, however old.
    Moves noted in a lock that is cleared are finished first, so that an entry into two tables is
    never half made.
    """
    patience = min(wait_seconds, _TAKE_OVER_SECONDS) if take_over else wait_seconds
    path, until = lock_path(fleet), time.monotonic() + patience
    mine, first = secrets.token_hex(8), None
    while not _take(path, mine):
        found = _read(path)
        first = found if first is None else first
        waited = time.monotonic() > until
        given_up = take_over and waited and _token(found) == _token(first)
        if found is not None and (given_up or _is_stale(found)):
            _clear(path, found)
        elif waited:
            raise StockoptError(_tell_held(path, found or {}))
        else:
            time.sleep(_POLL_SECONDS * (0.5 + secrets.randbelow(100) / 100.0))
    try:
        yield path
    finally:
        if _token(_read(path)) == mine:
            path.unlink(missing_ok=True)


def note_moves(lock: Path, moves: list[tuple[Path, Path]]) -> None:
    """Note in the lock what is about to be moved where.

    Raises
    ------
    StockoptError
        The lock is another's by now.
    """
    found = _read(lock) or {}
    if (found.get("pid"), found.get("host")) != (os.getpid(), socket.gethostname()):
        raise StockoptError(
            f"Somebody else took the books over meanwhile (lock file {lock}). Nothing was "
            "written; run the command again."
        )
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
        "since": f"{datetime.now():%Y-%m-%d %H:%M}",
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


def _token(found: Found | None) -> object:
    return (found or {}).get("token")


def _tell_held(path: Path, found: Found) -> str:
    told = {name: found.get(name, "?") for name in ("host", "pid", "since")}
    return (
        f"The books are being written by {found.get('user', 'somebody')} on {told['host']} since "
        f"{told['since']} (process {told['pid']}, lock file {path}). Try again. If that computer "
        "was switched off or its program ended, add --take-over: what it began is finished first. "
        "Nothing was written."
    )


def _is_stale(found: Found) -> bool:
    return found.get("host") == socket.gethostname() and not _runs(found.get("pid"))


def _runs(pid: object) -> bool:
    """Tell whether a process of this computer still runs; True where that cannot be known."""
    if not isinstance(pid, int):
        return True
    if sys.platform == "win32":
        return _runs_on_windows(pid)
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _runs_on_windows(pid: int) -> bool:
    """Ask Windows after a process: there, the signal 0 of `os.kill` would end it."""
    if sys.platform != "win32":
        return True
    kernel = ctypes.WinDLL("kernel32", use_last_error=True)
    kernel.OpenProcess.restype = ctypes.c_void_p
    handle = kernel.OpenProcess(_MAY_ASK, False, pid)
    if not handle:
        return bool(ctypes.get_last_error() != _NO_SUCH_PROCESS)
    code = ctypes.c_ulong()
    try:
        told = kernel.GetExitCodeProcess(ctypes.c_void_p(handle), ctypes.byref(code))
    finally:
        kernel.CloseHandle(ctypes.c_void_p(handle))
    return not told or code.value == _STILL_ACTIVE


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
