"""Small sheets that ask one thing and return one typed value, or None."""
