"""The command line run inside the test."""

import contextlib
import io
import json
from typing import NamedTuple

from advisor import cli

CORNER = ("R6 ±0.1", "--form", "convex", "--location", "corner", "--diameter", "40 mm")

# The options that make another shape of CORNER.
SHAPES = {
    "corner": {},
    "fillet": {"form": "concave", "shoulder_height": "12 mm"},
    "dome": {"location": "end", "radius": "R50 ±0.5"},
    "dish": {"location": "end", "form": "concave", "radius": "R50 ±0.5", "width": "30 mm"},
    "groove": {"location": "outside diameter", "form": "concave", "width": "10 mm", "from_end": "20 mm"},
    "crown": {"location": "outside diameter", "width": "10 mm", "from_end": "20 mm"},
}
CASE = """
[callout]
radius = "R6 ±0.1"
form = "convex"
location = "corner"
diameter = "40 mm"
[job]
quantity = 12
"""


class Ran(NamedTuple):
    """What a run of the command line gave: exit status, what it printed, what it complained of."""

    status: int
    out: str
    complaint: str

    @property
    def data(self):
        """The printed JSON."""
        return json.loads(self.out)


def run(*arguments):
    """Run `turn-radius` with these arguments."""
    out, complaint = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True) for _ in range(2))
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(complaint):
        try:
            status = cli.main([str(argument) for argument in arguments])
        except SystemExit as stopped:  # --help
            status = stopped.code
    return Ran(status, *(stream.buffer.getvalue().decode("utf-8", "replace") for stream in (out, complaint)))


def advise(*changes, **options):
    """Run `advise` on a plain corner, with options changed, added, or left out where None."""
    words = {"radius": CORNER[0]} | {CORNER[n].removeprefix("--"): CORNER[n + 1] for n in range(1, len(CORNER), 2)}
    words |= {name.replace("_", "-"): value for name, value in options.items()}
    radius = words.pop("radius")
    arguments = [] if radius is None else [radius]
    for name, value in words.items():
        if value is not None:
            arguments += [f"--{name}={value}"]
    return run("advise", *arguments, *changes)
