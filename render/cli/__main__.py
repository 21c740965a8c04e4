"""`python -m render.cli` is the `monikerf` command."""

from render.cli import main

main()
