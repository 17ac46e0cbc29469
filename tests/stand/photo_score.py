"""How many plants of a drawn scene were found: recall, precision, and how far off."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import linear_sum_assignment

from evenground.stand.photo.found import find_plants

NEAR_M = 0.03


@dataclass(frozen=True)
class Score:
    true: int
    found: int
    hit_true: int
    hit_found: int
    errors_m: tuple

    def __add__(self, other):
        pairs = zip(self.__dict__.values(), other.__dict__.values(), strict=True)
        return Score(*(a + b for a, b in pairs))

    @property
    def recall(self):
        return self.hit_true / max(1, self.true)

    @property
    def precision(self):
        return self.hit_found / max(1, self.found)

    @property
    def error_m(self):
        return float(np.sqrt(np.mean(np.square(self.errors_m)))) if self.errors_m else float("nan")


NOTHING = Score(0, 0, 0, 0, ())


def score(drawn, found=None):
    """Match plants found with stems drawn, each once, within 3 cm; stems cut by the edge count neither way.

    The finder leaves out what it finds nearer to the edge than `edge_m`; a stem within 3 cm of that border may rightly
    be found on the other side of it, so it need not be found.
    """
    scene = drawn.scene
    found = found or find_plants(drawn.pixels, scene.pixel_m, scene.pixel_m, twin=None, progress=lambda share: None)
    got = np.array([[p.x_px, p.y_px] for p in found.plants]).reshape(-1, 2) * scene.pixel_m
    stems = drawn.stems_m
    size, edge_m = np.array([scene.width_m, scene.height_m]), found.edge_m + NEAR_M
    inside = (stems >= edge_m).all(axis=1) & (stems <= size - edge_m).all(axis=1)
    far = np.hypot(*(got[:, None] - stems[None]).transpose(2, 0, 1))
    a, b = linear_sum_assignment(np.where(far <= NEAR_M, far, 1e3))
    hit = far[a, b] <= NEAR_M
    a, b = a[hit], b[hit]
    return Score(int(inside.sum()), len(got), int(inside[b].sum()), len(a), tuple(far[a, b].tolist()))
