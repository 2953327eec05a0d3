"""The kinds of thing that a sheet brings in, by their codes, in the order of the page."""

from practice.project.bring_in.kinds_of_goods import CREDIT, INVOICES, ITEMS
from practice.project.bring_in.kinds_of_people import CLIENTS, HORSES, PLACES

KINDS = {kind.code: kind for kind in (CLIENTS, HORSES, PLACES, ITEMS, INVOICES, CREDIT)}
