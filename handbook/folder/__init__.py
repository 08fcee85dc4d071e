"""The files of a handbook, read without any HTML: pages taken apart, house data, runs, day plans, reports."""
