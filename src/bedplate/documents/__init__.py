"""The state on paper and as drawings."""
