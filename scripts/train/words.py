"""Writes the list that general text is drawn from: common English words many times, rarer ones once, and names.
Real signs are made of common words; a recogniser tuned on evenly drawn dictionary words forgets them.

python words.py OUT.txt      (Debian package scowl; its numbers are how rare a word is)
"""
import sys
from pathlib import Path

SCOWL = Path("/usr/share/dict/scowl")
TIMES = {"english-words.10": 14, "american-words.10": 14, "english-words.20": 6, "american-words.20": 6, "english-words.35": 1, "american-words.35": 1,
         "british-words.35": 1, "english-upper.35": 10, "english-upper.50": 1, "english-proper-names.50": 2, "english-upper.10": 20}

words = []
for name, times in TIMES.items():
    words += [w for w in (SCOWL / name).read_text(encoding="latin1").split() if w.isascii() and w.isalpha() and len(w) <= 16] * times
Path(sys.argv[1]).write_text("\n".join(words) + "\n")
