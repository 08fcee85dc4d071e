"""Used by all packages: errors, units, forms of values, number formats, sources. Contains nothing about food."""
