"""What templates can ask about treatments."""
