"""Files beside the pages: search, feeds, schemas, the offline copy, paper."""
