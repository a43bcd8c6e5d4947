"""What the screens call the names of a case file, and how such an answer looks."""

LABELS = {
    "radius": ("The radius, as the drawing has it", "R6 ±0.1"),
    "shape": ("Where it is", "fillet"),
    "form": ("Convex or concave", "convex"),
    "location": ("Where it is", "corner"),
    "diameter": ("Diameter of the work there", "40 mm"),
    "width": ("Width straight across the arc", "10 mm"),
    "depth": ("Depth of the arc", "2 mm"),
    "from_end": ("From the end face to the near edge", "20 mm"),
    "shoulder_height": ("Height of the shoulder", "8 mm"),
    "length": ("Length of the diameter there", "30 mm"),
    "rim": ("Flat rim left round it", "2 mm"),
    "units": ("Unit of bare numbers", "mm"),
    "general_tolerance": ("General tolerance in the title block", "ISO 2768-m"),
    "finish": ("Roughness", "Ra 1.6"),
    "material": ("Material", "brass"),
    "hardness": ("Hardness", "28 HRC"),
    "stickout": ("How far it stands out of the chuck", "60 mm"),
    "support": ("Held by", "chuck"),
    "bore": ("Hole along the axis", "12 mm"),
    "interrupted": ("Keyway, flat or cross hole", "no"),
    "tool": ("Tool", "high-speed steel"),
    "quantity": ("Pieces", "12"),
    "places": ("Radii of this kind on each piece", "1"),
    "skill": ("Who turns it", "journeyman"),
    "minutes_in_piece": ("Minutes of work already in each piece", "30"),
    "shop": ("Shop", "training-shop"),
    "lathe": ("Lathe", ""),
}


def label(name):
    """What a name is called: the screens' word for it, or the name in words."""
    return LABELS.get(name, (name.replace("_", " ").capitalize(), ""))[0]


def like(name):
    """Such an answer."""
    return LABELS.get(name, ("", ""))[1]
