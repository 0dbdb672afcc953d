"""How sure pieces of a comp are: how often each way of finding them is right, by what it goes by.

All figures are read from generated comps that no benchmark scores, printed by
`tests/benchmarks/fit_confidence.py`: clean ones and ones in a hall, behind an amplifier, in a
chorus and under other instruments, with all takes given and with one missing.
"""

from __future__ import annotations

import numpy as np

# Unknown stretches, by seconds: seeds 905 to 907, a take left out, 124 of them.
UNKNOWN_SECONDS, UNKNOWN_SURE = (0.1, 0.2, 0.3, 0.8, 1.5), (0.1, 0.4, 0.9, 0.92, 0.98)
# Pieces of the path and of the following, by the share of their sound that the take explains.
SHARES, SHARES_RIGHT = (0.0, 0.3, 0.6, 0.9, 1.0), (0.0, 0.3, 0.6, 0.9, 1.0)
# What responses say, by deviations of a window's mean.
RESPONSES, RESPONSES_RIGHT = (3.0, 5.0, 8.0), (0.8, 0.95, 0.98)
# What keeps in step, by deviations of the whole stretch.
STEPS, STEPS_RIGHT = (3.6, 5.0, 7.0), (0.7, 0.85, 0.95)


def of_nothing(seconds: float) -> float:
    """How often an unknown stretch so long is from no take: a short one may have been missed."""
    return round(float(np.interp(seconds, UNKNOWN_SECONDS, UNKNOWN_SURE)), 3)


def of_share(share: float) -> float:
    """How often a piece is right of whose sound the take explains that share, 0 to 1."""
    return round(float(np.interp(share, SHARES, SHARES_RIGHT)), 3)


def of_response(deviations: float) -> float:
    """How often what is told by a response is right, by how far it stands out."""
    return round(float(np.interp(deviations, RESPONSES, RESPONSES_RIGHT)), 3)


def of_step(deviations: float) -> float:
    """How often what keeps in step with a take is from there, by how far it stands out."""
    return round(float(np.interp(deviations, STEPS, STEPS_RIGHT)), 3)
