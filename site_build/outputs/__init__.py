"""What stands beside the pages: search, feeds, schemas, the copy to keep, paper."""
