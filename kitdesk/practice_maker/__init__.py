"""A practice of any size for trying how Kitdesk carries it: invented people and codes, every
history whole. A few lives are played by the real actions, then multiplied.
"""
