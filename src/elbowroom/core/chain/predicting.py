"""What phones at planned places will be able to measure: a typical throw sent through the same chain, without pictures.

Nothing is simplified: the throw is projected into the planned cameras, the landmarks get the usual covariance of the
error tables, cameras and clocks come out of the same adjustment, and the measures' budgets out of the same draws. Only
noise is left out of the places themselves, so that what comes out is the uncertainty and not one sample of the error.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf

import numpy as np

from elbowroom.core.cameras.check import check_set_up
from elbowroom.core.cameras.hints import TAPE_END, TAPE_START, TARGET
from elbowroom.core.cameras.lens import assume_phone_lens
from elbowroom.core.cameras.pose import build_blank_camera
from elbowroom.core.cameras.project import project_points, project_with_jacobian
from elbowroom.core.cameras.set_up import GROUND_KNOWLEDGE, Ground
from elbowroom.core.cameras.types import Camera, FieldSetUp
from elbowroom.core.chain.calibrating import build_adjusting, solve_steady
from elbowroom.core.chain.measuring import draw_sources, measure_motion, refuse_out_of_plane
from elbowroom.core.chain.placing import ThrowerHints
from elbowroom.core.chain.tracking import view_throw
from elbowroom.core.chain.types import ChainSetting
from elbowroom.core.clips.types import SUFFICIENT, TimingVerdict
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.geometry.splines import build_knots
from elbowroom.core.landmarks.models import KINDS, find_kind
from elbowroom.core.landmarks.names import JOINTS, Joint
from elbowroom.core.landmarks.types import JointTrack
from elbowroom.core.quantities.types import Absent, Obtained
from elbowroom.core.reconstruction.solve import reconstruct_throw
from elbowroom.core.reconstruction.types import Array, ViewedThrow
