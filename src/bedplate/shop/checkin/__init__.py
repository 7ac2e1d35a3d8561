"""The check-in of what a machine shop sends back: ordered, said by the shop, measured here."""
