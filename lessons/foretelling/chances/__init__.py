"""What is known of blanks in, the chance that each will play out; arrays and plain rows, no database."""
