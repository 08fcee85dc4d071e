"""The HTML of pages and of their computed parts."""
