"""`ribwright again`: side one as it was actually bent becomes the profile of side two."""
