"""Which part goes where: half shells to bearings, parts to sets, always with a proof or a gap."""
