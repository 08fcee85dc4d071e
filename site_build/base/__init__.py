"""What every room of the generator uses: places, files, git, progress, deadlines, trees of HTML."""
