"""What can be measured on a trial piece: the options of `correct`, in a module that is quick to read."""

# Each with what a reader of --help needs.
LENGTHS = {
    "measured-radius": "the radius itself, as a comparator or a measuring machine reads it",
    "measured-depth": "depth of the arc, from its middle to its edge",
    "measured-width": "straight width over which that depth was measured, or the bore of a ring; the drawing's if left out",
    "inner-depth": "on an end, a second depth over a smaller width: it tells a wrong radius from a centre off the axis",
    "inner-width": "the width of that second depth",
    "crest": "diameter in the middle of a crown or groove",
    "edge": "diameter at the edge of a crown or groove",
    "across": "micrometer over a ball, square to the axis",
    "slanting": "micrometer over the same ball, at 45 degrees to the axis",
    "ball": "diameter of the ball laid in a fillet",
    "over-ball": "micrometer over that ball and the far side of the small diameter",
    "small-diameter": "the small diameter at a fillet as measured; the drawing's if left out",
    "pins": "diameter of each of two pins in a groove",
    "over-pins": "how much higher both pins side by side stand than one alone",
    "leaf": "the radius of the leaf or template; the drawing's if left out",
    "gap": "the thickest feeler that goes into the light, or the height of a step",
    "ring": "diameter of the highest ring of a dome, or of the deepest of a dish, that goes with a dimple or a nib",
    "pip": "diameter of the pip that stands in the middle",
    "starts": "where an arc that meets its flat at an edge starts on it, from the other flat",
    "good-to": "how far the reading may be off; what is usual for the gauge if left out",
    "moved": "how far the last correction went, where only the light tells",
}
WORDS = {
    "light": (
        "where a leaf shows light: none, middle, both ends or one end",
        ("none", "middle", "both ends", "one end"),
    ),
    "middle": ("what stands in the middle of an end: dimple, point, nib or pip", ("dimple", "point", "nib", "pip")),
    "step": ("the flat that the arc cuts into with a step: diameter or face", ("diameter", "face")),
    "ridge": ("the flat that the arc meets at an edge: diameter or face", ("diameter", "face")),
}
OPTIONS = LENGTHS | {name: meaning for name, (meaning, _) in WORDS.items()}
