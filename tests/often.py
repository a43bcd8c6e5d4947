"""How often a test tries something: TURN_RADIUS_LONG=1 (make thorough) tries as much as was ever asked for, and the usual
run as much as takes a few minutes in all."""

import os

LONG = bool(os.environ.get("TURN_RADIUS_LONG"))


def often(usual, long):
    """The number for this run."""
    return long if LONG else usual
