"""Placed pieces with overlaps allowed, as the local search moves them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scrapstore.packing.problem import PackingProblem, Pose

__all__ = ["State"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass
class State:
    """Piece i is of kind[i] and lies in turn[i] at (x[i], y[i]), inches; shape (n,) each."""

    kind: Ints
    turn: Ints
    x: Floats
    y: Floats

    @staticmethod
    def of(problem: PackingProblem, poses: Sequence[Pose]) -> "State":
        """Return the pieces at `poses`."""
        return State(
            np.array([problem.turns[s.turn].kind for s in poses], np.int64),
            np.array([s.turn for s in poses], np.int64),
            np.array([s.x for s in poses], np.float64),
            np.array([s.y for s in poses], np.float64),
        )

    def poses(self) -> list[Pose]:
        """Return the pieces as poses."""
        return [
            Pose(int(t), float(x), float(y))
            for t, x, y in zip(self.turn, self.x, self.y, strict=True)
        ]

    def copy(self) -> "State":
        """Return a state of its own."""
        return State(self.kind.copy(), self.turn.copy(), self.x.copy(), self.y.copy())

    def kept(self, which: Sequence[int]) -> "State":
        """Return only the pieces with the numbers `which`."""
        at = np.array(which, np.int64)
        return State(self.kind[at], self.turn[at], self.x[at], self.y[at])

    def joined(self, other: "State") -> "State":
        """Return the pieces of both."""
        return State(
            np.concatenate((self.kind, other.kind)),
            np.concatenate((self.turn, other.turn)),
            np.concatenate((self.x, other.x)),
            np.concatenate((self.y, other.y)),
        )
