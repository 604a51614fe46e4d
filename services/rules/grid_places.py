"""How the weather service is asked: about a place, and about a cell of its grid.

A cell is about 2.5 km wide [NWS-API], so that several places lie in one.
"""

from decimal import Decimal

from services.rules.weather import GridCell

Corner = tuple[Decimal, Decimal]  # latitude and longitude
THOUSANDTH = Decimal("0.001")  # of a degree is some hundred yards; this project's choice


def corner_of(latitude: Decimal, longitude: Decimal) -> Corner:
    """Return a place as the service is asked about it, in thousandths of a degree.

    >>> corner_of(Decimal("40.291049"), Decimal("-74.7996"))
    (Decimal('40.291'), Decimal('-74.800'))
    """
    return latitude.quantize(THOUSANDTH), longitude.quantize(THOUSANDTH)


def path_of_point(latitude: Decimal, longitude: Decimal) -> str:
    """Return where the service tells the cell of a place.

    Figures are written without idle zeros: another form than its own is answered by a redirect
    [NWS-API], and none is followed.

    >>> path_of_point(Decimal("40.220"), Decimal("-100.000"))
    '/points/40.22,-100'
    """
    return "/points/" + ",".join(_plain(each) for each in corner_of(latitude, longitude))


def path_of_cell(cell: GridCell) -> str:
    """Return where the service tells the raw grid of a cell.

    >>> path_of_cell(GridCell("PHI", 58, 90))
    '/gridpoints/PHI/58,90'
    """
    return f"/gridpoints/{cell.office}/{cell.x},{cell.y}"


def _plain(degrees: Decimal) -> str:
    return f"{degrees + 0:f}".rstrip("0").rstrip(".")
