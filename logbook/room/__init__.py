"""The room: the screen that stays open, the recorder's folder, and the page on the stand.

Every key and every line is one transaction that has ended before it is answered, so that nothing
answered is lost. `working` holds what both screens do; `screen` (Textual) and `page` (Starlette)
show it, and need the extra `room`.
"""
