"""The transfer that undoes another one."""

from jobs.models import StockMovement, Transfer


def reversal_of(row: Transfer, *, position: int, stock_movement: StockMovement | None = None) -> Transfer:
    """Make the transfer that takes a mass back to where it came from, on the day it was moved; unsaved.

    Args:
        row: what is undone; its holders are read.
        position: its place among the transfers of the record that undoes it.
        stock_movement: that record, where it is one of stock.
    """
    return Transfer(
        stock_movement=stock_movement,
        position=position,
        refrigerant=row.refrigerant,
        from_holder=row.to_holder,
        to_holder=row.from_holder,
        mass_mg=row.mass_mg,
        entered_value=row.entered_value,
        entered_unit=row.entered_unit,
        happened_on=row.happened_on,
        reason=row.reason,
        leak_id=row.leak_id,
        scale_id=row.scale_id,
        reverses=row,
    )
