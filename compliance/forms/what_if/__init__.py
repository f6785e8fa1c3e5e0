"""The forms of the what-if page: the appliance and the question, one row a fact, and the page that they make."""
