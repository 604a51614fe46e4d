"""The trade's rules: pure functions, with units and sources."""
