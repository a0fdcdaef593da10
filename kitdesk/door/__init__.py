"""The HTTP interface: what other programs may ask and send, each with a token of its own.

`front` takes a request and `api` finds its operation; `bench`, `fleet` and `course` hold the
operations, which call the same actions and selectors as the pages. The library behind it is
imported at the first request, not with the addresses: it takes half a second.
"""
