"""What the bolts hold together: gaskets, flanges, clamps, how they give, relax and expand, what fits what."""
