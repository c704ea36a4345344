"""Warming: whoever asks for a ranking or opens a page finds every kernel compiled."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
# Run on its own: in the tests' process others have compiled kernels before.
SCRIPT = """
import importlib, pkgutil, sys
from numba.core.dispatcher import Dispatcher
import physics

def compiled():
    names = [m.name for m in pkgutil.iter_modules(physics.__path__) if m.name != "__main__"]
    modules = [importlib.import_module(f"physics.{name}") for name in names]
    return {
        f"{kernel.__module__}.{kernel.__name__}{signature}"
        for module in modules
        for kernel in vars(module).values()
        if isinstance(kernel, Dispatcher)
        for signature in kernel.signatures
    }

physics.warm()
before = compiled()
assert before, "nothing was warmed"
import os
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "proshop.settings")
import django
django.setup()
from arsenal.engine import run_ranking
from physics import expect
from tests.arsenal import questions
from tests.physics import scenes
asked = questions.question()
oil = asked["conditions"][0]["oil"]
oil["worn"] = {"games": 2, "lane_factor": 1.0}
run_ranking(asked, 1, lambda percent, note: None)
play = expect.Play(scenes.man(), scenes.option(), scenes.task().film_um, 1.0, (18.0, 2.4))
for with_leaves in (True, False):
    expect.respond(play, with_leaves=with_leaves)
print("\\n".join(sorted(compiled() - before)))
"""


@pytest.mark.slow
def test_a_ranking_and_what_is_learnt_compile_nothing_that_warming_did_not() -> None:
    found = subprocess.run(
        [sys.executable, "-c", SCRIPT], cwd=ROOT, capture_output=True, text=True, timeout=600
    )
    assert found.returncode == 0, found.stderr
    assert found.stdout.strip() == ""
