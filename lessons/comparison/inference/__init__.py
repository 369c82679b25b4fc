"""What goes with what, within a student and a part of the term: plain rows in, effect and interval out."""
