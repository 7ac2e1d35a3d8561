"""View models: the state in the words and pictures of one page. Nothing is worked out here."""
