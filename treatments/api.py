"""What treatments offer to programs."""

ROUTES = []
