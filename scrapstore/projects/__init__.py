"""The project file: what is to be made, piece by piece, and which cloth each role asks for.

TOML outside, checked by one schema; plain frozen values inside. A file that will not do is refused
with every fault at once, each with its line, what arrived and what would be right.
"""

from scrapstore.projects.faults import Fault
from scrapstore.projects.forms import PieceNeed, Project, Role
from scrapstore.projects.reading import check_project, load_project, read_project
from scrapstore.projects.schema import COLOUR_FAMILIES, FORMAT, project_schema
from scrapstore.projects.starter import starter_text
from scrapstore.projects.writing import project_to_toml

__all__ = [
    "COLOUR_FAMILIES",
    "FORMAT",
    "Fault",
    "PieceNeed",
    "Project",
    "Role",
    "check_project",
    "load_project",
    "project_schema",
    "project_to_toml",
    "read_project",
    "starter_text",
]
