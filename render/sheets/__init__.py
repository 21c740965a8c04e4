"""Sheets: pieces laid out on stock, in jigs and on rotaries, in the order of burning, and verified."""
