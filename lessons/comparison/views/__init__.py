"""The pages of comparisons."""
