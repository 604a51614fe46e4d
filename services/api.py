"""What services offer to programs."""

ROUTES = []
