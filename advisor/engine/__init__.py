"""The three executors of a rule base: generated (one callout, fast), columns (many), chaining (with a trace)."""
