"""Monikerf: from a table of names to finished, fitted lettering and files that a laser can run.

The way of the data and the map of the rooms are in DEVELOPERS.md. Importing this package imports nothing
heavy; each room loads what it needs when it is asked to work.
"""

__version__ = "0.1.0"
