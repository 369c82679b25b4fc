"""Forms of comparisons: each cleans what was sent and nothing else."""
