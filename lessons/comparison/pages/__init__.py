"""What the pages of comparisons show."""
