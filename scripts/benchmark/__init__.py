"""Measuring: what `scripts/bench` prints is computed here."""
