"""What a tightening makes of a bolt.

Nothing here proposes a torque: whoever asks brings the maker's figure.
"""
