"""Sheets: what a sheet says, worked out once as plain data, and the forms it is drawn in.

A sheet is plain data (`player.py`) and the same put into blocks in reading order
(`player_blocks.py`): headings, facts, chord cards, charts, bar maps. A form (`text.py`) knows how
to draw each kind of block and nothing about music, so every sheet can be had in every form.

A new sheet is one new module with a `build` function and one line in `SHEETS`; a new form is one
new module with a `draw` function and one line in `FORMS`.
"""

from __future__ import annotations
