"""Files of a handbook: pages taken apart, house data, runs, day plans, reports. Contains no HTML."""
