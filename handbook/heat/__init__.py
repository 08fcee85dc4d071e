"""Heat and water in a piece of food: conduction, humid air, evaporation, lethality."""
