"""The command line: turns what a person types into work, and what comes of it into words and exit codes.

Exit codes: 0 all is made (some of it may need a look); 1 the job ran but pieces were held back; 2 the job
could not run, and nothing was written.
"""

from __future__ import annotations


def main() -> None:
    """The `monikerf` command."""
    from render.cli.app import run

    run()
