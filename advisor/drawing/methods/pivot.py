"""The pivot attachment, drawn from above."""

from advisor.drawing.swung import Swung


class Setup(Swung):
    """The tool on its arm about the post."""

    def base(self) -> tuple[float, float]:
        half = self.values["pivot_base_half_width"]
        return half, 0.55 * half  # nobody states it

    def post(self, *, near: bool = False) -> float:
        return self.values["post_diameter"] / 2
