"""Bodies of any age, build and sex: baked once from the parametric body, then posed without it.

A baked body is a rest mesh with skin weights and bone heads in the standing frame: x forward, y to the
body's left, z up, origin on the ground below the middle of the hips, metres.
"""

import json
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from rendering.rotations import Array

RIG = "makehuman-notongue-nobreasts-nofacialexpression"
TO_STANDING = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])


@dataclass(frozen=True, kw_only=True)
class Build:
    """What an invented athlete's body is like."""

    name: str
    """Invented name, also the file name of the baked body."""
    age_years: float
    """Age in years; 20 and over is an adult."""
    height_m: float
    """Standing height without shoes and cap."""
    sex: float
    """0 male, 1 female, in between allowed."""
    muscle: float
    """0 slight to 1 strong."""
    weight: float
    """0 thin to 1 heavy."""
    proportions: float
    """0 to 1: how usual the proportions are."""


@dataclass(frozen=True, kw_only=True)
class Body:
    """A baked body in its rest pose, in the standing frame."""

    build: Build
    """The build that it was baked from."""
    labels: tuple[str, ...]
    """Names of the bones."""
    parents: tuple[int, ...]
    """Index of each bone's parent, -1 for the root; parents come before children."""
    heads: Array
    """Bone heads (joint centres) at rest, (B, 3)."""
    vertices: Array
    """Mesh at rest, (V, 3)."""
    faces: Array
    """Triangles, (F, 3) whole numbers."""
    bone_index: Array
    """The four strongest bones of each vertex, (V, 4)."""
    bone_weight: Array
    """Their weights, summing to one, (V, 4)."""

    def bone(self, label: str) -> int:
        """Index of a bone by its name."""
        return self.labels.index(label)

    def head(self, label: str) -> Array:
        """Rest position (3,) of a bone's head."""
        return self.heads[self.bone(label)]


def estimate_shape_age(age_years: float) -> float:
    """The parametric body's age value for an age in years (1/3 is a child of about ten, 2/3 a young adult)."""
    return float(np.interp(age_years, [6, 10, 13, 16, 20, 60], [0.25, 1 / 3, 0.44, 0.56, 2 / 3, 0.9]))


def bake_bodies(builds: list[Build]) -> list[Body]:
    """Bake bodies with the parametric body model (needs torch and anny; the first use takes a minute)."""
    import anny
    import torch

    torch.set_num_threads(1)
    model = anny.Anny(rig=RIG)
    return [_bake(model, torch, build) for build in builds]


def _bake(model, torch, build: Build) -> Body:  # type: ignore[no-untyped-def]
    shape = {
        "gender": build.sex,
        "age": estimate_shape_age(build.age_years),
        "muscle": build.muscle,
        "weight": build.weight,
        "height": 0.5,
        "proportions": build.proportions,
    }
    with torch.no_grad():
        out = model(phenotype_kwargs={k: torch.tensor([v], dtype=torch.float64) for k, v in shape.items()})
    vertices = out["rest_vertices"][0].numpy() @ TO_STANDING.T
    heads = out["rest_bone_heads"][0].numpy() @ TO_STANDING.T
    labels = tuple(model.bone_labels)
    floor = vertices[:, 2].min()
    scale = build.height_m / (vertices[:, 2].max() - floor)
    hips = (heads[labels.index("upperleg01.L")] + heads[labels.index("upperleg01.R")]) / 2
    origin = np.array([hips[0], hips[1], floor])
    index, weight = _keep_strongest(model.vertex_bone_indices.numpy(), model.vertex_bone_weights.numpy())
    return Body(
        build=build,
        labels=labels,
        parents=tuple(int(p) for p in model.bone_parents),
        heads=(heads - origin) * scale,
        vertices=(vertices - origin) * scale,
        faces=model.get_triangular_faces().numpy(),
        bone_index=index,
        bone_weight=weight,
    )


def _keep_strongest(index: Array, weight: Array) -> tuple[Array, Array]:
    order = np.argsort(-weight, axis=1)[:, :4]
    kept = np.take_along_axis(weight, order, axis=1)
    return np.take_along_axis(index, order, axis=1), kept / kept.sum(axis=1, keepdims=True)


def write_body(body: Body, folder: Path) -> Path:
    """Write a baked body as one npz file named after its build."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{body.build.name}.npz"
    np.savez_compressed(
        path,
        build=json.dumps(asdict(body.build)),
        labels=np.array(body.labels),
        parents=np.array(body.parents),
        heads=body.heads,
        vertices=body.vertices.astype(np.float32),
        faces=body.faces.astype(np.uint16),
        bone_index=body.bone_index.astype(np.uint8),
        bone_weight=body.bone_weight.astype(np.float32),
    )
    return path


def read_body(path: Path) -> Body:
    """Read a baked body."""
    data = np.load(path)
    return Body(
        build=Build(**json.loads(str(data["build"]))),
        labels=tuple(str(x) for x in data["labels"]),
        parents=tuple(int(p) for p in data["parents"]),
        heads=data["heads"],
        vertices=data["vertices"].astype(float),
        faces=data["faces"].astype(np.int64),
        bone_index=data["bone_index"].astype(np.int64),
        bone_weight=data["bone_weight"].astype(float),
    )


def obtain_bodies(builds: list[Build], folder: Path) -> list[Body]:
    """Read the bodies from the folder, baking the ones that are missing."""
    missing = [b for b in builds if not (folder / f"{b.name}.npz").exists()]
    for body in bake_bodies(missing) if missing else []:
        write_body(body, folder)
    return [read_body(folder / f"{build.name}.npz") for build in builds]
