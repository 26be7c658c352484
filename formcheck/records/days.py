"""Days that may stand in the record: what was done or said lies in no future."""

from datetime import date, timedelta

from formcheck.errors import RecordsError


def refuse_future(day: date, what: str) -> None:
    """Raise RecordsError if it has not come: later than tomorrow, as elsewhere it may be that already."""
    if day > date.today() + timedelta(days=1):
        raise RecordsError(f"{what}: {day} has not come yet; write the day on which it was")
