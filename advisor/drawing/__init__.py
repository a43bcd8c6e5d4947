"""Drawings as data: the work, the setups, edges and templates, what goes wrong."""
