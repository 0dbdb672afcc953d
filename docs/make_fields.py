"""Write docs/fields.md and docs/session-file.schema.json anew, from the records' declarations."""

from __future__ import annotations

import json
from pathlib import Path

from logbook.notebook.schema import fields_page, json_schema

if __name__ == "__main__":
    docs = Path(__file__).parent
    (docs / "fields.md").write_text(fields_page(), encoding="utf-8")
    schema = json.dumps(json_schema(), ensure_ascii=False, indent=1)
    (docs / "session-file.schema.json").write_text(schema + "\n", encoding="utf-8")
