"""The project file: what is to be made, piece by piece, and which cloth each role asks for.

TOML outside, checked by one schema; plain frozen values inside. A file that will not do is refused
with every fault at once, each with its line, what arrived and what would be right.
"""

from scrapstore.projects.arranged import ArrangedCloth, arranged_text
from scrapstore.projects.finishing import top_outline
from scrapstore.projects.forms import PieceNeed, Project, Role
from scrapstore.projects.from_design import design_text
from scrapstore.projects.reading import load_project, read_project
from scrapstore.projects.schema import COLOUR_FAMILIES, FORMAT
from scrapstore.projects.starter import starter_text, stock_list_text
from scrapstore.projects.writing import write_new

__all__ = [
    "COLOUR_FAMILIES",
    "FORMAT",
    "ArrangedCloth",
    "PieceNeed",
    "Project",
    "Role",
    "arranged_text",
    "design_text",
    "load_project",
    "read_project",
    "starter_text",
    "stock_list_text",
    "top_outline",
    "write_new",
]
