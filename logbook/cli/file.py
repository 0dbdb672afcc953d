"""`logbook file`: audio files as the log has them, and many attached at once."""

from __future__ import annotations

from logbook.cli.apps import examples
from logbook.cli.files import hang
from logbook.cli.nouns import noun_app

app = noun_app("file", default="list")
app.command(
    "attach-all",
    epilog=examples("logbook file attach-all 'drums/*_07_*' --song Varnish --part drums --take 7"),
)(hang)
app.command(
    "hang", hidden=True, epilog=examples("logbook file attach-all 'drums/*' -p drums -t 7")
)(hang)
