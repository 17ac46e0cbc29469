"""Photographs that were never taken: rows of young maize drawn from above, with every stem's place known.

All sizes, colours and habits of the plants are invented for these scenes (common practice, no source). They are drawn
square from above, so a real photo's lens, tilt and plant height are not in them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from PIL import Image, ImageDraw
from scipy.ndimage import gaussian_filter

# By leaf, first to sixth: length and greatest width of the blade [m].
LEAF_LENGTH_M = (0.045, 0.09, 0.16, 0.24, 0.32, 0.38)
LEAF_WIDTH_M = (0.013, 0.015, 0.019, 0.025, 0.031, 0.036)
LIGHTS = ("overcast", "sun", "low sun", "half shade")
SUPER = 2  # drawn so many times finer than shown


@dataclass(frozen=True)
class Pattern:
    """What was sown: distance of row centres, gap of the two lines (0: single), plants per square metre."""

    row_spacing_m: float = 0.75
    twin_gap_m: float = 0.0
    plants_per_m2: float = 8.5

    @property
    def target_m(self):
        return (2 if self.twin_gap_m else 1) / (self.plants_per_m2 * self.row_spacing_m)


@dataclass(frozen=True)
class Scene:
    """What to draw. Lengths in metres, angles in degrees, shares from 0 to 1."""

    pattern: Pattern = field(default_factory=Pattern)
    leaves: int = 4
    light: str = "overcast"
    width_m: float = 3.0
    height_m: float = 1.8
    pixel_m: float = 0.002
    angle_deg: float = 2.0
    leaf_scale: float = 1.0
    spread: float = 0.2
    miss: float = 0.05
    double: float = 0.0
    beside_m: float = 0.008
    late: float = 0.03
    weeds: float = 0.0
    weeds_in_row: bool = False
    blur_m: float = 0.0


@dataclass(frozen=True)
class Drawn:
    """The picture, and where the stems stand: x, y [m] from the upper left corner, and the line each belongs to."""

    pixels: np.ndarray
    stems_m: np.ndarray
    lines: np.ndarray
    weed_share: float
    scene: Scene

    @property
    def stems_px(self):
        return self.stems_m / self.scene.pixel_m


def draw(scene: Scene, seed: int) -> Drawn:
    """Draw a scene; the same scene and seed give the same picture."""
    rng = np.random.default_rng(seed)
    stems, lines = _stems(scene, rng)
    plants = [list(_plant(scene, x, y, rng)) for x, y in stems]
    leaves = [leaf for plant in plants for leaf in plant]
    inside = (stems > 0).all(axis=1) & (stems < [scene.width_m, scene.height_m]).all(axis=1)
    canvas = _Canvas(scene, rng)
    seen = [leaf for plant, shown in zip(plants, inside, strict=True) if shown for leaf in plant]
    weeds = _weeds(scene, canvas, seen, stems[inside], rng)
    parts = sorted(leaves + weeds, key=lambda part: part.height_m)
    pixels, share = canvas.paint(parts, rng)
    return Drawn(pixels, stems[inside], lines[inside], share, scene)


def _stems(scene, rng):
    """Place the stems line by line, turned about the middle of the picture."""
    pattern, reach = scene.pattern, math.hypot(scene.width_m, scene.height_m)
    offsets = np.arange(-reach, reach, pattern.row_spacing_m) + rng.uniform(0, pattern.row_spacing_m)
    half = pattern.twin_gap_m / 2
    named = [(o + side * half, 0.5 * (side > 0)) for o in offsets for side in ((-1, 1) if half else (0,))]
    start = rng.uniform(0, pattern.target_m, len(offsets)).repeat(2 if half else 1)
    out, lines = [], []
    turn = math.radians(scene.angle_deg)
    for number, ((offset, phase), begin) in enumerate(zip(named, start, strict=True)):
        places = np.arange(-reach, reach, pattern.target_m) + begin + phase * pattern.target_m
        places = places + rng.normal(0, scene.spread / math.sqrt(2) * pattern.target_m, places.size)
        places = places[rng.random(places.size) >= scene.miss]
        twice = places[rng.random(places.size) < scene.double]
        places = np.concatenate([places, twice + rng.uniform(0.03, 0.06, twice.size)])
        across = offset + rng.normal(0, scene.beside_m, places.size)
        x = places * math.cos(turn) - across * math.sin(turn) + scene.width_m / 2
        y = places * math.sin(turn) + across * math.cos(turn) + scene.height_m / 2
        out.append(np.column_stack([x, y]))
        lines.append(np.full(places.size, number))
    return np.concatenate(out), np.concatenate(lines)


@dataclass(frozen=True)
class _Part:
    """A leaf: its outline as cross-sections (left, right) from base to tip, colours, and how high it hangs."""

    left: np.ndarray
    right: np.ndarray
    colours: np.ndarray
    height_m: float
    weed: bool = False
    rib: bool = True


def _plant(scene, x, y, rng):
    """Draw up one plant: leaves in two opposite directions, the youngest short and upright in the middle."""
    late = rng.random() < scene.late
    leaves = max(1, scene.leaves - 2 if late else scene.leaves)
    size = scene.leaf_scale * rng.normal(1.0, 0.08)
    azimuth, lean = rng.uniform(0, math.tau), rng.normal(0, 0.004, 2)
    hue = rng.normal(0, [5, 6.4, 5])
    for i in range(leaves + 1):
        young = i == leaves
        flat = rng.uniform(0.25, 0.4) if young else rng.uniform(0.5, 0.62) if i == leaves - 1 else rng.uniform(0.6, 0.8)
        length = size * LEAF_LENGTH_M[min(i, 5)] * flat * (0.6 if young else 1.0)
        width = size * LEAF_WIDTH_M[min(i, 5)] * (0.5 if young else 1.0)
        direction = azimuth + i * math.pi + rng.normal(0, math.radians(13))
        start = np.array([x, y]) + lean * i / 3
        colour = np.array([92.0, 134, 58]) + hue + (18 if young else 0) + (np.array([14, 6, 0]) if i == 0 else 0)
        yield _leaf(start, direction, rng.normal(0, math.radians(16)), length, width, colour, 0.02 + 0.02 * i, rng)


def _leaf(start, direction, bend, length, width, colour, height, rng, *, weed=False, round_=False):
    """Lay one blade: a bent axis, widest before its middle (or round), shaded along its length."""
    t = np.linspace(0, 1, 11)
    angle = direction + bend * t
    step = length / (t.size - 1) * np.column_stack([np.cos(angle), np.sin(angle)])
    axis = start + np.vstack([[0.0, 0.0], np.cumsum(step[:-1], axis=0)])
    half = width / 2 * (np.sin(np.pi * t**0.8) ** 0.7 if round_ else np.clip(0.75 + 0.9 * t, 0, 1) * (1 - t**2.2))
    normal = np.column_stack([-np.sin(angle), np.cos(angle)])
    shade = 0.78 + 0.3 * np.sin(np.pi * np.clip(t + rng.normal(0, 0.08), 0, 1)) + rng.normal(0, 0.05)
    return _Part(
        axis + normal * half[:, None], axis - normal * half[:, None], shade[:, None] * colour, height, weed, not round_
    )


def _weeds(scene, canvas, leaves, stems, rng):
    """Add rosettes and tufts of grass until they hold their share of the green seen from above."""
    out, wanted = [], scene.weeds / max(1e-9, 1 - scene.weeds) * canvas.area(leaves)
    covered = 0.0
    while covered < wanted:
        x, y = rng.uniform(0, scene.width_m), rng.uniform(0, scene.height_m)
        if scene.weeds_in_row:
            x, y = stems[rng.integers(len(stems))] + rng.normal(0, [0.12, 0.03])
        grass, size = rng.random() < 0.35, rng.lognormal(math.log(0.022), 0.45)
        one = []
        for _ in range(rng.integers(4, 9)):
            wide = 0.004 if grass else size * rng.uniform(0.5, 0.8)
            long = size * (2.2 if grass else 1.0) * rng.uniform(0.7, 1.2)
            colour = np.array([84.0, 126, 62]) + rng.normal(0, 9, 3)
            where, turn = np.array([x, y]), rng.uniform(0, math.tau)
            one.append(_leaf(where, turn, 0.2, long, wide, colour, 0.01, rng, weed=True, round_=not grass))
        out += one
        covered += canvas.area(one)
    return out


class _Canvas:
    """Ground, light and brush."""

    def __init__(self, scene, rng):
        self.scene = scene
        self.scale = SUPER / scene.pixel_m
        self.size = (round(scene.width_m * self.scale), round(scene.height_m * self.scale))
        self.soil = self._soil(rng)

    def _soil(self, rng):
        """Return bare ground: brown, cloddy, with stones and bits of straw; floats (rows, columns, 3)."""
        columns, rows = (n // SUPER for n in self.size)
        clods = sum(
            a * gaussian_filter(rng.normal(0, 1, (rows, columns)), s) * s
            for a, s in ((9.0, 0.012 / self.scene.pixel_m), (7.0, 0.004 / self.scene.pixel_m), (4.0, 0.7))
        )
        image = Image.fromarray(np.clip(118 + np.clip(2.2 * clods, -70, 70), 0, 255).astype(np.uint8)).convert("RGB")
        brush = ImageDraw.Draw(image)
        for _ in range(int(60 * self.scene.width_m * self.scene.height_m)):
            x, y, r = rng.uniform(0, columns), rng.uniform(0, rows), rng.lognormal(math.log(0.006), 0.5)
            r /= self.scene.pixel_m
            if rng.random() < 0.5:
                grey = int(rng.uniform(120, 190))
                brush.ellipse([x - r, y - 0.7 * r, x + r, y + 0.7 * r], fill=(grey, grey, grey))
            else:
                a = rng.uniform(0, math.tau)
                end = (x + 6 * r * math.cos(a), y + 6 * r * math.sin(a))
                brush.line([x, y, *end], fill=(200, 184, 140), width=max(1, round(0.5 * r)))
        return np.asarray(image, float) * (1.12, 0.97, 0.78)

    def area(self, parts):
        """Return the ground the parts hide together [m2], overlaps counted twice."""
        total = 0.0
        for p in parts:
            total += float(np.linalg.norm(p.left - p.right, axis=1).mean() * np.linalg.norm(p.left[0] - p.left[-1]))
        return total

    def paint(self, parts, rng):
        """Paint parts from low to high on the ground, put light on them, take the photograph."""
        image, owner = Image.new("RGB", self.size), Image.new("L", self.size)
        brush, marks = ImageDraw.Draw(image), ImageDraw.Draw(owner)
        for p in parts:
            left, right = p.left * self.scale, p.right * self.scale
            for i in range(len(left) - 1):
                corners = [tuple(c) for c in (left[i], left[i + 1], right[i + 1], right[i])]
                brush.polygon(corners, fill=tuple(int(v) for v in np.clip(p.colours[i], 0, 255)))
            outline = [tuple(c) for c in np.vstack([left, right[::-1]])]
            marks.polygon(outline, fill=2 if p.weed else 1)
            if p.rib:
                rib = [tuple(c) for c in (left + right) / 2]
                brush.line(rib[:9], fill=tuple(int(v) for v in np.clip(p.colours[4] + 22, 0, 255)), width=SUPER)
        who = np.asarray(owner)
        share = float((who == 2).sum() / max(1, (who > 0).sum()))
        cover = np.asarray(Image.fromarray(np.where(who > 0, 255, 0).astype(np.uint8)).reduce(SUPER), float) / 255
        green = np.asarray(image.reduce(SUPER), float) / np.maximum(cover, 1e-6)[..., None]
        light, ground = self._light(parts, rng)
        seen = (
            cover[..., None] * green * light[..., None]
            + (1 - cover[..., None]) * self.soil * (light * ground)[..., None]
        )
        return self._camera(seen, rng), share

    def _light(self, parts, rng):
        """Return the light everywhere, and how much of it reaches the ground under the leaves."""
        rows, columns = self.soil.shape[:2]
        strength, slope = {
            "overcast": (0.25, 0.3),
            "sun": (0.6, 0.7),
            "low sun": (0.65, 2.2),
            "half shade": (0.6, 0.7),
        }[self.scene.light]
        shadow = Image.new("L", (columns, rows))
        brush = ImageDraw.Draw(shadow)
        away = np.array([math.cos(0.7), math.sin(0.7)])
        for p in parts:
            moved = (np.vstack([p.left, p.right[::-1]]) + slope * p.height_m * away) / self.scene.pixel_m
            brush.polygon([tuple(c) for c in moved], fill=255)
        soft = (0.012 if self.scene.light == "overcast" else 0.002) / self.scene.pixel_m
        ground = 1 - strength * gaussian_filter(np.asarray(shadow, float) / 255, soft)
        light = np.ones((rows, columns))
        if self.scene.light == "half shade":
            edge = np.add.outer(0.4 * np.arange(rows), np.arange(columns)) < 0.6 * columns
            light = gaussian_filter(np.where(edge, 0.45, 1.0), 0.01 / self.scene.pixel_m)
        return light, ground

    def _camera(self, seen, rng):
        """Colour of the light, blur, noise, and eight bits."""
        tint = {"overcast": (0.97, 1.0, 1.05), "sun": (1.12, 1.08, 1.0), "low sun": (1.15, 1.02, 0.85)}
        seen = seen * tint.get(self.scene.light, (1.0, 1.0, 1.0))
        sigma = self.scene.blur_m / self.scene.pixel_m
        if sigma > 0:
            seen = gaussian_filter(seen, (sigma, sigma, 0))
        return np.clip(seen + rng.normal(0, 4, seen.shape), 0, 255).astype(np.uint8)


def jpeg(pixels: np.ndarray, path, quality: int = 88) -> None:
    """Save a picture as a camera would."""
    Image.fromarray(pixels).save(path, quality=quality)
