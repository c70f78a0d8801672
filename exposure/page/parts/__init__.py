"""Parts of the page: each draws a piece of the answer."""
