"""From a rig file to drawings, a pin table and a parts list. Not a certified design."""
