"""Salt and sugar moving through a piece of food."""
