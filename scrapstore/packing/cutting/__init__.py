"""How one scrap is cut: from the packer's layout to straight cuts on the marks of a ruler."""

from scrapstore.packing.cutting.check import cut_faults
from scrapstore.packing.cutting.planned import Planned, plan_cuts

__all__ = ["Planned", "cut_faults", "plan_cuts"]
