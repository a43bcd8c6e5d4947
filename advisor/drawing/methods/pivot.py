"""The pivot attachment, drawn from above."""

from advisor.drawing.swung import Swung


class Setup(Swung):
    """The tool on its arm about the post."""

    def base(self):
        half = self.values["pivot_base_half_width"]
        return half, 0.55 * half  # nobody states it

    def post(self, *, near=False):
        return self.values["post_diameter"] / 2
