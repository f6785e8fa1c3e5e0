"""Forms of the registers: they check the shape of what is typed; the services check the business."""
