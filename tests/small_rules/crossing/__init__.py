"""Formulas for the small rule base about crossing a fjord, which the tests of the engine use."""
