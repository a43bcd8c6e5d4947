"""Screens, sheets, pages and pictures, out of answers and studies."""
