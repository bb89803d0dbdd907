"""What a cut of power leaves on the board's flash, and what logging costs it in wear, stalls and room."""
