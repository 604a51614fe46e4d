"""What is applied, and whether it may be."""
