"""Pages of products, store, rotations, records, and of who applies with what."""
