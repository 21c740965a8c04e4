"""The market stall: pages for customers and the maker, served from this machine and from nowhere else."""
