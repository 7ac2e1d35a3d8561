"""Tightening runs: where each joint stands, from the plan and the record."""
