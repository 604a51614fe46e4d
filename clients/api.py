"""What clients offer to programs."""

ROUTES = []
