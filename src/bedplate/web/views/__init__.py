"""View models: the state, put into the words and pictures of one page. Nothing is worked out here."""
