"""What people do with a list: keep it, look it over, bring it in, take it back."""
