"""Text as Unicode sees it: letters with their marks, direction, where lines may end, case by language."""
