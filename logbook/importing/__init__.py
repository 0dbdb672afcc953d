"""Audio files of a folder found, understood, and hung on the takes of the log."""
