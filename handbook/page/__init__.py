"""Records of method pages and of the house file, and their readers."""
