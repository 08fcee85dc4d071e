"""What every room uses: errors, units, forms of values, text of figures, sources. It knows no food."""
