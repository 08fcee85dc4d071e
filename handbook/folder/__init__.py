"""Files of a handbook: pages split into parts, house data, runs, day plans, reports. Contains no HTML."""
