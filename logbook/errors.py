"""The errors a user can cause, each one plain sentence with the way out.

Everything raised because of what somebody typed, logged or pointed at derives from
`LogbookError`; anything else that escapes is a fault of ours.
"""

from __future__ import annotations


class LogbookError(ValueError):
    """Something the user gave is wrong.

    `problem` says what is wrong, `remedy` (which may be empty) what would be right.
    `str()` joins the two into what the command line prints.
    """

    def __init__(self, problem: str, remedy: str = "") -> None:
        self.problem = problem
        self.remedy = remedy
        super().__init__(f"{problem}; {remedy}" if remedy else problem)
