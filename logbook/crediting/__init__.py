"""Credits: who gets named for a song and its recording, with which numbers and which shares."""
