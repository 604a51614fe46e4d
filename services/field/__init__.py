"""The crews' phones in the field: what they are sent, what they say, and what becomes of it."""
