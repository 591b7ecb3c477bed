"""Words for what the numbers do."""
