"""The author's words as HTML, links, pictures, and faults that need all pages together."""
