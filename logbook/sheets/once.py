"""Work done once for the same records: what several sheets of a song ask alike.

Records never change, so what follows from them does not either. An answer is kept by the very
objects it was asked of, which it holds on to; a change of the log makes other objects. Only the
last few answers are kept: the sheets of a song are made one after another.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from threading import Lock
from typing import ParamSpec, TypeVar

Given = ParamSpec("Given")
Answer = TypeVar("Answer")


def once(most: int) -> Callable[[Callable[Given, Answer]], Callable[Given, Answer]]:
    """Keep the last `most` answers of a function of records that never change.

    It is asked with its arguments in order, and answers with what nobody changes. What it raises
    is not kept.
    """

    def keeping(function: Callable[Given, Answer]) -> Callable[Given, Answer]:
        kept: dict[tuple[int, ...], tuple[tuple[object, ...], Answer]] = {}
        lock = Lock()

        @wraps(function)
        def asked(*given: Given.args, **named: Given.kwargs) -> Answer:
            assert not named, "arguments are given in order"
            key = tuple(map(id, given))
            found = kept.get(key)
            if found is not None:
                return found[1]
            answer = function(*given, **named)
            with lock:
                # What was asked is held as well, so that no other object can have its address.
                kept[key] = (given, answer)
                while len(kept) > most:
                    del kept[next(iter(kept))]
            return answer

        return asked

    return keeping
