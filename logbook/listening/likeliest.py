"""The likeliest course through states: one for each frame, where leaving one has its price.

Dynamic programming over frames (Viterbi), where a jump from any state to any other is priced by the
one that is entered alone: so a frame costs as much as there are states.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.floating]
States = npt.NDArray[np.int32]


def likeliest_states(
    scores: Floats,
    entry: Floats,
    beside: States | None = None,
    step_cost: float = 0.0,
    leave: float = 0.0,
) -> States:
    """Return the states, one for each frame, of the greatest sum of scores.

    scores: frames x states. entry: what entering each state costs, and `leave` beside it at every
    jump. beside: states x 2, which may be stepped from into each at `step_cost`; going on in a
    state is free, and it goes on where sums are equal.
    """
    count, states = scores.shape
    total = scores[0] - entry
    came = np.empty((count, states), dtype=np.int32)
    same = np.arange(states, dtype=np.int32)
    for n in range(1, count):
        start = int(np.argmax(total))
        value, origin = total, same
        for side in () if beside is None else (beside[:, 0], beside[:, 1]):
            stepped = total[side] - step_cost
            better = stepped > value
            value = np.where(better, stepped, value)
            origin = np.where(better, side, origin)
        jump = total[start] - leave - entry
        better = jump > value
        came[n] = np.where(better, start, origin)
        total = np.where(better, jump, value) + scores[n]
    path = np.empty(count, dtype=np.int32)
    path[-1] = int(np.argmax(total))
    for n in range(count - 1, 0, -1):
        path[n - 1] = came[n, path[n]]
    return path
