"""Whose lock is stale, on either kind of computer."""

import ctypes
import os
import socket
import subprocess
import sys

import pytest

from stockopt.books import lock

HERE = socket.gethostname()


@pytest.fixture
def gone():
    process = subprocess.Popen([sys.executable, "-c", ""])
    process.wait()
    return process.pid


def test_only_a_process_of_this_computer_that_is_gone_leaves_a_stale_lock(gone):
    assert lock._is_stale({"host": HERE, "pid": gone})
    assert not lock._is_stale({"host": HERE, "pid": os.getpid()})
    assert not lock._is_stale({"host": "elsewhere", "pid": gone})
    assert not lock._is_stale({"host": HERE, "pid": "?"})
    assert not lock._is_stale({})


class Kernel:
    """Windows as it answers: processes by number with their exit codes, None where it refuses."""

    def __init__(self, codes, *, may_open=True):
        self.codes, self.may_open, self.closed = codes, may_open, []
        # A plain function takes `restype`, a method does not.
        self.OpenProcess = lambda *asked: self._open(*asked)

    def _open(self, right, inherit, pid):
        assert (right, inherit) == (0x1000, False)
        return pid if pid in self.codes and self.may_open else None

    def GetExitCodeProcess(self, handle, code):  # noqa: N802 - as Windows calls it
        if self.codes[handle.value] is None:
            return 0
        code._obj.value = self.codes[handle.value]
        return 1

    def CloseHandle(self, handle):  # noqa: N802 - as Windows calls it
        self.closed.append(handle.value)


@pytest.mark.parametrize(
    ("codes", "may_open", "error", "runs"),
    [
        ({4: 259}, True, 0, True),
        ({4: 0}, True, 0, False),
        ({4: None}, True, 0, True),
        ({}, True, 87, False),
        ({4: 259}, False, 5, True),
    ],
)
def test_windows_is_asked_after_a_process_and_never_ends_it(
    monkeypatch, codes, may_open, error, runs
):
    kernel = Kernel(codes, may_open=may_open)
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(ctypes, "WinDLL", lambda *_, **__: kernel, raising=False)
    monkeypatch.setattr(ctypes, "get_last_error", lambda: error, raising=False)
    monkeypatch.setattr(os, "kill", lambda *_: pytest.fail("this would end the process"))
    assert lock._is_stale({"host": HERE, "pid": 4}) == (not runs)
    assert kernel.closed == ([4] if codes and may_open else [])
