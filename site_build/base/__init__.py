"""What every room of the generator uses: places, files, git, progress, fingerprints, trees of HTML."""
