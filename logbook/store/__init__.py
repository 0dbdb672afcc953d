"""The database: models, reading and writing, history, backup. The only room that knows SQL.

`open_log` gives a Store; `with store.reading() as connection:` reads (modules `reading`,
`finding`, `searching`), `with store.change("take add") as change:` writes (modules `writing`,
`editing`, `removing`, `here`). Import from the modules; this package itself loads nothing.
"""
