"""How one scrap is cut: from the packer's layout to straight cuts on the marks of a ruler."""

from scrapstore.packing.cutting.planner import PlannedCuts, plan_cuts
from scrapstore.packing.cutting.verify import cut_faults

__all__ = ["PlannedCuts", "cut_faults", "plan_cuts"]
