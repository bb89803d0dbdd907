"""`ribwright prove`: a wired rig shown to do its work, one step after the other, with a dated sheet."""
