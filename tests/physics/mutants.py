"""What ``make mutation`` needs beside cosmic-ray: which changes are tried, the tests of each in a
fork of one process that has everything heavy loaded (which else takes longer than they do), and the
score.

    python -m tests.physics.mutants serve SOCKET TESTS…   answer on a socket until killed
    python tests/physics/mutants.py ask SOCKET            0 where the tests pass just now
    python tests/physics/mutants.py choose SESSION COUNT  leave so many changes to try in a session
    python tests/physics/mutants.py score SESSION         one line

Run in a copy of the tree, whose files are changed while it runs.
"""

from __future__ import annotations

import socket
import sys

# A change that makes a loop endless is caught by then; all tests of a module take four seconds.
MOST_CPU_S = 20
SEED = 1
# Numbers here have no bits to shift or mask: such changes fail by themselves, and would flatter.
BITWISE = ("LShift", "RShift", "BitAnd", "BitOr", "BitXor")
PLAIN = [
    *("-x", "-q", "--noconftest", "--assert=plain", "--tb=no"),
    *("-o", "addopts=--import-mode=importlib"),
    *(f"-pno:{plugin}" for plugin in (
        "django", "cov", "xdist", "benchmark", "hypothesispytest", "cacheprovider",
        "unraisableexception", "threadexception")),
]  # fmt: skip


def ask(place: str) -> int:
    with socket.socket(socket.AF_UNIX) as server:
        server.connect(place)
        said = server.recv(1)
    return said[0] if said else 1


def serve(place: str, tests: list[str]) -> None:
    import gc
    import os
    import resource
    import signal

    import hypothesis
    import numba
    import pytest
    import scipy.integrate
    import scipy.optimize

    assert numba
    assert scipy
    # The same examples each time, which the module has passed unchanged: a rare one that fails all
    # the same would count as a catch, kept for all that follow. Making one small takes longer than
    # all the rest.
    hypothesis.settings.register_profile(
        "mutants",
        phases=[hypothesis.Phase.explicit, hypothesis.Phase.generate],
        derandomize=True,
        database=None,
        deadline=None,
    )
    hypothesis.settings.load_profile("mutants")
    # Two changes within a second may be of one size: no compiled module may stand in for another.
    sys.dont_write_bytecode = True
    gc.freeze()
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(place)
        server.listen()
        while True:
            asked, _ = server.accept()
            child = os.fork()
            if not child:
                resource.setrlimit(resource.RLIMIT_CPU, (MOST_CPU_S, MOST_CPU_S))
                signal.signal(signal.SIGXCPU, signal.SIG_DFL)
                os._exit(int(pytest.main([*PLAIN, *tests])))
            _, status = os.waitpid(child, 0)
            asked.send(bytes([min(255, abs(os.waitstatus_to_exitcode(status)))]))
            asked.close()


def choose(session: str, count: int) -> str:
    import random
    import sqlite3

    with sqlite3.connect(session) as stored:
        rows = stored.execute(
            "select job_id, operator_name from mutation_specs "
            "order by start_pos_row, start_pos_col, operator_name, occurrence"
        ).fetchall()
        real = [job for job, operator in rows if not any(bit in operator for bit in BITWISE)]
        kept = set(random.Random(SEED).sample(real, min(count, len(real))))
        for job, _ in rows:
            if job not in kept:
                stored.execute("delete from mutation_specs where job_id = ?", (job,))
                stored.execute("delete from work_items where job_id = ?", (job,))
    drawn = f"{len(kept)} of them drawn with seed {SEED}" if len(kept) < len(real) else "all"
    return f"{len(rows)} changes, {len(rows) - len(real)} of bit operators left out; {drawn} to try"


def score(session: str) -> str:
    import sqlite3

    with sqlite3.connect(session) as stored:
        outcomes = [one for (one,) in stored.execute("select test_outcome from work_results")]
        (total,) = stored.execute("select count(*) from work_items").fetchone()
    survive = outcomes.count("SURVIVED")
    caught = 100 * (1 - survive / len(outcomes)) if outcomes else 0.0
    return f"tried {len(outcomes)} of {total}: {survive} survive, {caught:.1f} % caught"


if __name__ == "__main__":
    what, where, *rest = sys.argv[1:]
    if what == "ask":
        sys.exit(ask(where))
    if what == "serve":
        serve(where, rest)
    elif what == "choose":
        print(choose(where, int(rest[0])))
    else:
        print(score(where))
