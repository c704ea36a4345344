"""What the static balance of the demo's own balls, which rankings leave out, does at the pins."""

from __future__ import annotations

import statistics

import numpy as np
import pytest
from django.core.management import call_command

from arsenal.engine import Missing, bodies, inputs_for
from bowlers.models import Bowler
from physics import offset
from physics.errors import InputError
from physics.rules import static_faults

pytestmark = pytest.mark.bench


@pytest.mark.django_db
def test_offsets_of_the_demo_s_balls(capsys: pytest.CaptureFixture[str]) -> None:
    """Every drilled ball of every bag, with the deliveries of ``python -m physics offset``."""
    call_command("demo", verbosity=0)
    sizes: list[float] = []
    moves: list[list[float]] = []
    for customer in Bowler.objects.all():
        try:
            bag = inputs_for(customer)["bag"]
        except Missing:
            continue
        for ball in bag:
            pap = (ball["pap_over_in"], ball["pap_up_in"])
            try:
                drilled, _, _ = bodies.ball_of(ball["label"], ball["layout"], ball["holes"], pap)
            except InputError:
                continue
            if static_faults(drilled):
                continue
            sizes.append(1000 * float(np.linalg.norm(drilled.cg_offset_m)))
            moves.append([abs(mean) for mean, _ in offset.moved_boards(drilled)])
    with capsys.disabled():
        print(
            f"\n{len(sizes)} legal drilled balls, offset {statistics.median(sizes):.2f} mm"
            f" (median), {max(sizes):.2f} at most; boards moved at the pins, median and most:"
        )
        for delivery, several in zip(offset.DELIVERIES, zip(*moves, strict=True), strict=True):
            print(f"  {delivery.name}: {statistics.median(several):.1f}, {max(several):.1f}")
    assert len(sizes) > 10
