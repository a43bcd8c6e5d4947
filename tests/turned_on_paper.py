"""Radii turned and gauged on paper: exact geometry of its own, which knows nothing of how a setting is corrected.

A piece is what stands after the tool has gone round: contours and circles. Every gauge is brought to it until it touches,
by halving, and read. z runs along the axis into the work, r away from the axis; lengths in mm.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

STEPS = 30  # halvings when a gauge is brought to the work
POINTS = 241


@dataclass(frozen=True)
class Shape:
    """What is asked: convex, where ("corner", "end", "outside diameter"), diameter, width of the arc (nan on a corner)."""

    convex: bool
    where: str
    diameter: float
    width: float = math.nan


@dataclass(frozen=True)
class Piece:
    """What was turned: an arc of `radius` whose centre stands `across` off its place toward the tool's side of an end, or
    out from the axis on a corner, and `along` toward the headstock."""

    shape: Shape
    radius: float
    across: float = 0.0
    along: float = 0.0

    # ---- ends, crowns and grooves: height of the surface against the distance from the middle of the arc

    def height(self, y):
        """How high the surface stands, over an end's half on the tool's side or over half a crown or groove. The middle of
        the arc's circle is at nothing."""
        rise = np.sqrt(self.radius**2 - (np.asarray(y) - self.across) ** 2)
        return rise if self.shape.convex else -rise

    def depth(self, width):
        """From the middle to the place half a width away, as a depth gauge finds it."""
        return abs(float(self.height(0.0) - self.height(width / 2)))

    def diameters(self):
        """Micrometer in the middle of a crown or groove, and at its edge."""
        middle, edge = self.height(0.0), self.height(self.shape.width / 2)
        crest = self.shape.diameter if self.shape.convex else self.shape.diameter - 2 * abs(float(middle - edge))
        return crest, crest + 2 * float(edge - middle)

    def under_leaf(self, leaf):
        """A leaf laid on the whole width: (gap in the middle, gap at the ends), square to the leaf."""
        y = np.linspace(0.0, min(self.shape.width / 2, leaf), POINTS)
        surface, cap = self.height(y), np.sqrt(leaf**2 - y**2)
        if self.shape.convex:  # the leaf's hollow comes down until it touches
            centre = (surface - cap).max()
            gaps = leaf - np.hypot(y, surface - centre)
        else:
            centre = (surface + cap).max()
            gaps = np.hypot(y, surface - centre) - leaf
        return float(gaps[0]), float(gaps[-1])

    def ball_across(self, angle):
        """Micrometer over a ball, its faces square to a line at this angle from the axis [deg]."""
        line = np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))])
        turn = np.linspace(0, math.pi, 20 * POINTS)
        ring = np.stack([self.radius * np.cos(turn), self.across + self.radius * np.sin(turn)])
        ring = ring[:, ring[1] >= 0]
        both = np.concatenate([ring, ring * np.array([[1.0], [-1.0]])], axis=1)
        along = line @ both
        return float(along.max() - along.min())

    def ring(self):
        """Diameter of the highest ring of a dome or the deepest of a dish; nothing where the middle is a point."""
        y = np.linspace(0.0, 4 * abs(self.across) + 1e-9, 40001)
        surface = self.height(y) * (1.0 if self.shape.convex else -1.0)
        return 2 * float(y[int(surface.argmax())])

    def pins(self, pin):
        """How much higher two pins side by side stand in a groove than one alone."""

        def lowest(offset):
            low, high = -self.radius, 0.0
            for _ in range(STEPS):
                middle = (low + high) / 2
                clear = self.radius - math.hypot(offset, middle) >= pin / 2
                low, high = (low, middle) if clear else (middle, high)
            return high

        return lowest(pin / 2) - lowest(0.0)

    # ---- corners: between the flats r = 0 (the diameter) and z = 0 (face or shoulder), the work toward z > 0, r < 0

    def corner_light(self, leaf):
        """A leaf pressed into or over the corner, square to both flats: (gap at 45 degrees, gap at the flats)."""
        inner, outer = (self.radius, leaf) if self.shape.convex else (leaf, self.radius)
        contour = _rounded(inner)
        low, high = -1.0, 1.0 + outer
        for _ in range(STEPS):  # the outer one is lifted along 45 degrees until it clears
            middle = (low + high) / 2
            clear = _clearance(contour + np.array([[-middle], [-middle]]), outer).min() >= 0
            low, high = (low, middle) if clear else (middle, high)
        free = _clearance(contour + np.array([[-high], [-high]]), outer)
        return float(free[len(free) // 2]), float(free[0])

    def over_ball(self, ball):
        """Micrometer over a ball held in the middle of a fillet and the far side of the small diameter."""
        low, high = 0.0, 4 * self.radius + ball
        for _ in range(STEPS):
            middle = (low + high) / 2
            at = np.array([[-middle], [-middle]])
            clear = _clearance(at, self.radius)[0] >= ball / 2
            low, high = (low, middle) if clear else (middle, high)
        return self.shape.diameter + high + ball / 2

    def start(self, flat="diameter"):
        """Where the arc of a rounded corner starts on a flat, from the other one; nan where it leaves no edge there."""
        turn = np.linspace(0, math.pi / 2, 20_001)
        off, other = (self.across, self.along) if flat == "diameter" else (-self.along, -self.across)
        beside = self.radius + other - self.radius * np.cos(turn)
        up = -self.radius + off + self.radius * np.sin(turn)
        above = np.flatnonzero(up >= 0)
        return float(beside[above[0]]) if len(above) else math.nan

    def step(self, flat="diameter"):
        """How far the arc is cut into a flat; less than nothing where it leaves metal standing."""
        return -self.across if flat == "diameter" else self.along

    def in_the_middle(self):
        """What stands in the middle of an end, by how the surface goes from there."""
        rises = float(self.height(1e-3) - self.height(0.0)) > 0
        if self.shape.convex:
            return "dimple" if rises else "point"
        return "dimple" if rises else "nib"

    def filed(self, where, amount):
        """The piece after so much was taken off a corner's arc in its middle, or off another arc at both ends or in its
        middle, and blended."""
        if self.shape.where == "corner":
            stands = self.radius * (math.sqrt(2) - 1) + (amount if self.shape.convex else -amount)
            return replace(self, radius=stands / (math.sqrt(2) - 1))
        half = self.shape.width / 2
        depth = self.radius - math.sqrt(self.radius**2 - half**2)
        depth += amount if (where == "both ends") == self.shape.convex else -amount
        return replace(self, radius=(half**2 + depth**2) / (2 * depth))


def _rounded(radius):
    """A corner's contour, both flats with an arc between them: 2 x n points (x, y), material toward less of both."""
    turn = np.linspace(0, math.pi / 2, 4 * POINTS + 1)
    arc = np.stack([-radius + radius * np.sin(turn), -radius + radius * np.cos(turn)])
    flat = np.linspace(-3 * radius, -radius, POINTS)
    return np.concatenate([np.stack([flat, np.zeros(POINTS)]), arc, np.stack([np.zeros(POINTS), flat[::-1]])], axis=1)


def _clearance(points, radius):
    """How far points lie inside a hollow of the same kind: two flats with an arc of `radius` between them."""
    x, y = points
    inside = np.minimum(-x, -y)
    beside = np.hypot(x + radius, y + radius)
    return np.where((x > -radius) & (y > -radius), radius - beside, inside)


# ---- settings, and what a correction does to them


@dataclass(frozen=True)
class Setting:
    """A method as it is set. size: tip to pivot, tip to swivel, rod from seat to seat, or the edge's radius; nose: added to
    a rod; height: between the seats of a rod; across, along: of the centre, as in Piece."""

    method: str
    shape: Shape
    size: float
    nose: float = 0.0
    height: float = 0.0
    across: float = 0.0
    along: float = 0.0

    def turned(self, error=0.0):
        """The piece that it turns; error: of this piece's radius."""
        radius = self.size
        if self.method == "radius rod":
            radius = math.sqrt(self.size**2 - self.height**2) + (-self.nose if self.shape.convex else self.nose)
        return Piece(self.shape, radius + error, self.across, self.along)

    def corrected(self, part, way, amount, error=0.0):
        """The setting after one thing was moved so far; error: of that move, in the unit of the amount."""
        sign = {"toward": -1, "away": 1, "shorter": -1, "longer": 1}.get(way, 0)
        if part == "tip":
            return replace(self, size=self.size + sign * amount + error)
        if part == "rod":
            return replace(self, size=self.size + sign * amount + error)
        if part == "slide":  # short of the swivel, in is nearer to it; past it, in is farther
            nearer = (way == "in") == self.shape.convex
            return replace(self, size=self.size + (-amount if nearer else amount) + error)
        if part == "centre" and way in ("in", "out"):
            return replace(self, across=self.across + (amount if way == "out" else -amount) + error)
        if part == "centre":
            return replace(self, along=self.along + (amount if way == "toward" else -amount) + error)
        if part == "edge":
            return replace(self, size=self.honed(way, amount + error))
        raise ValueError(part)

    def honed(self, where, amount):
        """Radius of an edge off which so much was honed, in its middle or at both ends. The arc that it leaves goes through
        what is left there: over a width by its depth, on a corner by its height over the flats' crossing."""
        if self.shape.where == "corner":
            stands = self.size * (math.sqrt(2) - 1)  # from the crossing of the flats to the arc
            # A hollow edge reaches into that room: off its middle, and the arc comes nearer to the crossing.
            nearer = (where == "middle") == self.shape.convex
            return (stands - amount if nearer else stands + amount) / (math.sqrt(2) - 1)
        half = self.shape.width / 2
        depth = self.size - math.sqrt(self.size**2 - half**2)
        deeper = (where == "middle") == self.shape.convex
        depth += amount if deeper else -amount
        return (half**2 + depth**2) / (2 * depth)
