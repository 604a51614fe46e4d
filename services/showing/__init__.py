"""What the pages show: gathered from the models, in a fixed number of queries."""
