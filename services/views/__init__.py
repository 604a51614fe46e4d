"""Pages of the schedule."""
