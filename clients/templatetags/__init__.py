"""What templates of all parts ask for."""
