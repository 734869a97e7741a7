"""A body of sticks, so that the motion can be tested without the parametric body."""

import numpy as np

from rendering.bodies import Body, Build

HALF = {
    "upperleg01": ("root", (0.0, 0.10, 0.83)),
    "lowerleg01": ("upperleg01", (0.03, 0.11, 0.46)),
    "foot": ("lowerleg01", (0.0, 0.13, 0.07)),
    "toe2-1": ("foot", (0.13, 0.13, 0.03)),
    "clavicle": ("spine01", (0.0, 0.02, 1.28)),
    "upperarm01": ("clavicle", (0.0, 0.16, 1.25)),
    "upperarm02": ("upperarm01", (0.015, 0.20, 1.20)),
    "lowerarm01": ("upperarm02", (0.0, 0.32, 1.07)),
    "lowerarm02": ("lowerarm01", (0.08, 0.37, 1.03)),
    "wrist": ("lowerarm02", (0.17, 0.42, 0.95)),
    "finger2-1": ("wrist", (0.25, 0.45, 0.92)),
    "finger3-1": ("wrist", (0.25, 0.47, 0.90)),
    "finger4-1": ("wrist", (0.24, 0.48, 0.88)),
    "finger5-1": ("wrist", (0.23, 0.49, 0.86)),
}
MIDDLE = {
    "root": ("", (0.0, 0.0, 0.82)),
    "spine05": ("root", (0.0, 0.0, 0.83)),
    "spine01": ("spine05", (-0.03, 0.0, 1.15)),
    "neck01": ("spine01", (0.0, 0.0, 1.34)),
    "head": ("neck01", (0.03, 0.0, 1.43)),
}


def make_stick_body() -> Body:
    """A body 1.58 m tall: bones as in the parametric body, a few vertices at the feet and the head."""
    bones = {name: (parent, np.array(spot)) for name, (parent, spot) in MIDDLE.items()}
    for side, sign in (("L", 1.0), ("R", -1.0)):
        for name, (parent, spot) in HALF.items():
            above = parent if parent in MIDDLE else f"{parent}.{side}"
            bones[f"{name}.{side}"] = (above, np.array(spot) * [1.0, sign, 1.0])
    labels = tuple(bones)
    vertices, owners = _make_vertices(labels)
    return Body(
        build=Build(name="stick", age_years=13, height_m=1.58, sex=0.0, muscle=0.5, weight=0.5, proportions=0.5),
        labels=labels,
        parents=tuple(labels.index(parent) if parent else -1 for parent, _ in bones.values()),
        heads=np.stack([spot for _, spot in bones.values()]),
        vertices=vertices,
        faces=np.zeros((0, 3), int),
        bone_index=np.tile(owners[:, None], (1, 4)),
        bone_weight=np.tile([1.0, 0.0, 0.0, 0.0], (len(owners), 1)),
    )


def _make_vertices(labels: tuple[str, ...]) -> tuple[np.ndarray, np.ndarray]:
    spots, owners = [], []
    for side, sign in (("L", 1.0), ("R", -1.0)):
        spots += [(-0.06, sign * 0.13, 0.0), (0.2, sign * 0.13, 0.0), (0.0, sign * 0.07, 1.45)]
        owners += [labels.index(f"foot.{side}")] * 2 + [labels.index("head")]
    spots.append((0.12, 0.0, 1.48))
    owners.append(labels.index("head"))
    return np.array(spots), np.array(owners)
