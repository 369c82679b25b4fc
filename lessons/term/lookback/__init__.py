"""A term's plain rows in, figures with n and interval out."""
