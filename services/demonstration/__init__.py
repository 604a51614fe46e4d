"""The demonstration: an invented business, its season, and the main job done for it once."""
