"""Paper: from plain data to PDF bytes."""
