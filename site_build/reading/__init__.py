"""The author's words as HTML, links, pictures, and faults that only all pages together show."""
