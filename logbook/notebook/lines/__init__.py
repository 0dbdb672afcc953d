"""Notebook lines: one fact a line, in the shortest words a musician would write.

`read_line` reads a line where the work is into a fact, `str(fact)` prints it so that it reads back
as the same fact, `mean` says what it changes and what to answer, and `Notebook` puts it into the
log, a transaction a line. The grammar stands in docs/notebook.md.
"""
