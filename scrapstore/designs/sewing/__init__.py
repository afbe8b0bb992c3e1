"""In which order a top is sewn, seam by seam.

>>> from scrapstore.designs import make_design
>>> pinwheels = make_design("pinwheels", piece=4, rows=2, columns=2, seam=0.25, mark=0.125)
>>> order = sewing_order(pinwheels)
>>> len(order.joins), order.set_in, order.joins[-1].length
(31, 0, 16.0)
"""

from scrapstore.designs.sewing.forms import Batch, Bend, Join, JoinedPart, Meet, SewingOrder, Side
from scrapstore.designs.sewing.measures import SeamTest, seam_test
from scrapstore.designs.sewing.order import order_of_pieces, sewing_order

__all__ = [
    "Batch",
    "Bend",
    "Join",
    "JoinedPart",
    "Meet",
    "SeamTest",
    "SewingOrder",
    "Side",
    "order_of_pieces",
    "seam_test",
    "sewing_order",
]
