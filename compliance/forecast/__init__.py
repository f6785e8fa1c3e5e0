"""Pure: when an appliance will want its next charge at the rate it has been losing refrigerant, as an estimate."""
