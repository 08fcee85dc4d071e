"""The methods folder read: files, page texts, house data, the author's HTML, links, pictures."""
