"""The language of conditions and amounts in the rule base."""
