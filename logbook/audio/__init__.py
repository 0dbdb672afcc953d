"""Audio files from outside: what they are and say, whose takes they may be, and their tags.

No database here: everything takes paths and hands back frozen plain data.
"""
