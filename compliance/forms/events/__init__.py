"""The forms of one service event: the visit, its rows, and the page that holds them all."""
