"""What is mixed and where it stands: temperatures of brines, boxes and rests."""
