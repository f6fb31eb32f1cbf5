"""The local web page: what it shows, who may see it, and the server of its files and its socket."""
