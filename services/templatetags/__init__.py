"""Template tags of the schedule's pages."""
