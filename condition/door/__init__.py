"""The phone's door: a small program of its own that adds photos and short notes to one job, and does nothing else."""
