"""The drafting room: a session file written from the sound of takes that nobody logged."""
