"""Record packs: what goes in, how they are made and kept, and the script that checks one anywhere."""
