"""A parallel rack in equations: what a store with a known fault would show, without any rule.

It judges the knowledge and therefore never learns from it: only units and physics are imported.
Carbon dioxide is not modelled.
"""
