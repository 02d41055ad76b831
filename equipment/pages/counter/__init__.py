"""The counter: handing out and taking back with a scanner and nothing else."""
