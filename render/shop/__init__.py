"""What the shop owns and knows: its library of blanks, machines, materials and jigs."""
