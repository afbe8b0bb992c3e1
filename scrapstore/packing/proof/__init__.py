"""How good a layout of one region can be at most; loaded only when a proof is asked for."""

from scrapstore.packing.proof.bound import prove

__all__ = ["prove"]
