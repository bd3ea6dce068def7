"""What to do about the drift, and why."""
