"""The reference solver in the averaged one's place."""

from __future__ import annotations

from numba import njit

from physics import averaged, confirming


def instead_of_averaged(steps: int) -> None:
    """Let kernels that are compiled from now on throw by the reference solver, in so many steps
    whatever they ask for."""

    @njit(nogil=True, error_model="numpy")
    def run_into(deliveries, ball, p, closure, film, asked_steps, out):  # type: ignore[no-untyped-def]
        out[: deliveries.shape[0]] = confirming.run_many(deliveries, ball, p, closure, film, steps)

    averaged.run_into = run_into
