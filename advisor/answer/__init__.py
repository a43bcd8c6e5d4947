"""One callout and one shop in, an advice out; its words; what would let a method stand; many at once."""
