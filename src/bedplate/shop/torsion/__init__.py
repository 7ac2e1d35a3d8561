"""At which speeds the crank twists, from the drawing's figures and the duty's torques."""
