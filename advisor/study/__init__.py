"""Questions about an answer: what would change it, where a number comes from, prices, maps."""
